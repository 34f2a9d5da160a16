"""A river cut into blocks, from memory and from files, each tile decoded once."""

from __future__ import annotations

import shutil
from itertools import pairwise

import numpy as np
import pytest
import rasterio
import shapely
import shapely.ops
from shapely import LineString

from layers.blocks import Window, cut_blocks
from layers.errors import GridMismatch, LayerError, LevelMissing, RasterRefused
from layers.grid import Bounds, Grid
from layers.raster import Band, TiledRaster, write_bands
from layers.stack import Stack
from layers.store import write_stack
from layers.tiles import TileWalk
from layers.walk import StoredStack

LEVEL_M = 0.6


@pytest.fixture(scope="module")
def line():
    """Return a river that bends twice, 1 km and more long."""
    along = np.linspace(0, 900, 181)
    return LineString(np.column_stack([along + 50, 300 + 220 * np.sin(along / 140)]))


@pytest.fixture(scope="module")
def grid(crs):
    return Grid.covering(
        Bounds(west=0, east=1000, south=0, north=600), cell_m=1.0, crs=crs
    )


@pytest.fixture(scope="module")
def stack(grid):
    rng = np.random.default_rng(5)

    def layer():
        return rng.random(grid.shape, dtype=np.float32)

    bed = layer()
    bed[:40, :40] = np.nan
    return Stack(
        grid=grid,
        fixed={"bed": bed, "bed_sd": layer(), "silt": layer(), "gravel": layer()},
        by_level={
            level: {"depth": layer(), "speed": layer(), "speed_sd": layer()}
            for level in (0.3, LEVEL_M)
        },
    )


@pytest.fixture(scope="module")
def built(stack, tmp_path_factory):
    folder = tmp_path_factory.mktemp("layers")
    write_stack(stack, folder)
    return folder


@pytest.fixture
def folder(built, tmp_path):
    return shutil.copytree(built, tmp_path / "layers")


def test_blocks_follow_each_other_and_hold_all_water_within_the_halo(grid, line):
    blocks = cut_blocks(grid, line, halo_m=30.0, length_m=170.0)
    ends = [(block.start_m, block.end_m) for block in blocks]
    assert ends[0][0] == 0.0
    assert ends[-1][1] == pytest.approx(line.length, rel=1e-12)
    assert all(one[1] == two[0] for one, two in pairwise(ends))
    for block in blocks:
        piece = shapely.ops.substring(line, block.start_m, block.end_m).buffer(29.99)
        rows, columns = grid.cells_in(piece)
        top, left, high, wide = block.window
        assert ((rows >= top) & (rows < top + high)).all()
        assert ((columns >= left) & (columns < left + wide)).all()


def test_the_blocks_of_a_stack_are_views_of_its_layers(stack, line):
    found = list(stack.blocks(line, halo_m=30.0, length_m=400.0))
    assert len(found) == len(cut_blocks(stack.grid, line, halo_m=30.0, length_m=400.0))
    for block, part in found:
        top, left, rows, columns = block.window
        whole = stack.layer("depth", level_m=LEVEL_M)
        own = part.layer("depth", level_m=LEVEL_M)
        assert np.shares_memory(own, whole)
        cut = whole[top : top + rows, left : left + columns]
        np.testing.assert_array_equal(own, cut)
        easting, _ = part.grid.centres()
        np.testing.assert_array_equal(
            easting, stack.grid.centres()[0][left : left + columns]
        )


@pytest.mark.parametrize(("length_m", "halo_m"), [(0, 5), (-1, 5), (10, 0)])
def test_a_block_without_length_or_halo_is_refused(grid, line, length_m, halo_m):
    with pytest.raises(LayerError, match="cannot be cut; give positive numbers"):
        cut_blocks(grid, line, halo_m=halo_m, length_m=length_m)


def test_a_window_off_the_grid_is_its_nearest_cell(grid):
    away = Bounds(west=5000, east=5010, south=-50, north=-40)
    assert Window.round(away, grid) == Window(599, 999, 1, 1)


def test_windows_from_files_are_those_of_the_stack_in_memory(stack, folder, line):
    windows = [b.window for b in cut_blocks(stack.grid, line, halo_m=30, length_m=150)]
    with StoredStack(folder, level_m=LEVEL_M) as stored:
        assert stored.grid == stack.grid
        for window, found in zip(windows, stored.walk(windows), strict=True):
            part = stack.part(window)
            assert found.grid == part.grid
            assert found.substrates == stack.substrates
            for name in ("bed", "silt", "gravel", "depth", "speed"):
                np.testing.assert_array_equal(
                    found.layer(name, level_m=LEVEL_M),
                    part.layer(name, level_m=LEVEL_M),
                )


def test_every_tile_is_decoded_once_and_let_go_when_passed(stack, folder, line):
    windows = [b.window for b in cut_blocks(stack.grid, line, halo_m=30, length_m=60)]
    touched = {
        (row // 256, column // 256)
        for top, left, rows, columns in windows
        for row in (*range(top, top + rows, 256), top + rows - 1)
        for column in (*range(left, left + columns, 256), left + columns - 1)
    }
    with TiledRaster(folder / "depth.tif", ["0.600"]) as raster:
        walk = TileWalk(raster, windows)
        assert len(list(walk)) == len(windows) > 10
        assert walk.decoded == len(touched)
        assert 1 <= walk.most_held < len(touched)
        assert walk._held == {}


def test_a_number_for_nodata_is_read_as_unknown(tmp_path):
    path = tmp_path / "depth.tif"
    values = np.array([[1.0, -9999.0]], np.float32)
    transform = rasterio.Affine(1, 0, 50, 0, -1, 90)
    with rasterio.open(
        path, "w", driver="GTiff", dtype="float32", count=1, height=1, width=2,
        crs="EPSG:27700", transform=transform, nodata=-9999.0,
    ) as tif:  # fmt: skip
        tif.write(values, 1)
    with TiledRaster(path) as raster:
        np.testing.assert_array_equal(
            raster.tile(Window(0, 0, 1, 2)), [[[1.0, np.nan]]]
        )


def test_a_level_or_band_that_is_not_there_is_refused(folder):
    with pytest.raises(LevelMissing, match=r"0\.9 m was not built \(built: 0\.300, 0"):
        StoredStack(folder, level_m=0.9)
    with pytest.raises(RasterRefused, match=r"no band 'moss' but bed, bed_sd"):
        TiledRaster(folder / "bed.tif", ["moss"])
    with pytest.raises(RasterRefused, match="cannot be read as a raster"):
        StoredStack(folder / "nowhere", level_m=LEVEL_M)


def test_files_on_two_grids_are_refused(folder, grid):
    moved = Window(0, 0, 30, 30).of(grid)
    values = np.zeros(moved.shape, np.float32)
    write_bands(
        folder / "speed.tif", moved, [Band(name="0.600", unit="m/s", values=values)]
    )
    with pytest.raises(GridMismatch, match=r"speed\.tif lies on a grid of"):
        StoredStack(folder, level_m=LEVEL_M)


def test_a_layer_without_a_known_cell_is_not_known(stack, folder):
    with StoredStack(folder, level_m=LEVEL_M) as stored:
        assert stored.knows("speed")
        assert stored.knows("substrate")
    unknown = np.full(stack.grid.shape, np.nan, np.float32)
    band = Band(name="0.600", unit="m/s", values=unknown)
    write_bands(folder / "speed.tif", stack.grid, [band])
    (folder / "substrate.tif").unlink()
    with StoredStack(folder, level_m=LEVEL_M) as stored:
        assert not stored.knows("speed")
        assert not stored.knows("substrate")
