"""GeoTIFFs written and read back, by us and by rasterio itself."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio
from pyproj import CRS, Transformer

from layers.errors import GridMismatch, LayerError, LevelMissing, RasterRefused
from layers.grid import Bounds, Grid
from layers.raster import (
    Band,
    read_aligned,
    read_bands,
    replacing,
    transform_of,
    write_bands,
)
from layers.stack import Stack
from layers.store import read_stack, write_stack


@pytest.fixture
def grid(crs) -> Grid:
    return Grid.covering(
        Bounds(west=690_000, east=690_040, south=350_000, north=350_030),
        cell_m=2.0,
        crs=crs,
    )


@pytest.fixture
def values(grid, rng) -> np.ndarray:
    values = rng.random(grid.shape).astype(np.float32)
    values[0, :3] = np.nan
    return values


def test_what_is_written_is_read_back_to_the_bit(tmp_path, grid, values):
    write_bands(tmp_path / "a.tif", grid, [Band(name="bed", unit="m", values=values)])
    found_grid, bands = read_bands(tmp_path / "a.tif")
    assert found_grid == grid
    np.testing.assert_array_equal(bands["bed"], values)


def test_an_independent_reader_sees_a_cog_with_units_and_nan(tmp_path, grid, values):
    write_bands(tmp_path / "a.tif", grid, [Band(name="bed", unit="m", values=values)])
    with rasterio.open(tmp_path / "a.tif") as tif:
        assert tif.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        assert tif.dtypes == ("float32",)
        assert np.isnan(tif.nodata)
        assert tif.units == ("m",)
        assert tif.descriptions == ("bed",)
        assert tif.crs.to_epsg() == 27700
        assert tif.transform == transform_of(grid)


def test_a_raster_in_another_system_is_laid_on_the_grid(tmp_path, grid):
    """A plane in easting, stored in UTM 31N, comes back as that plane."""
    to_utm = Transformer.from_crs("EPSG:27700", "EPSG:32631", always_xy=True)
    east, north = to_utm.transform(690_020, 350_015)
    utm = Grid.covering(
        Bounds(west=east - 80, east=east + 80, south=north - 80, north=north + 80),
        cell_m=1.0,
        crs=CRS("EPSG:32631"),
    )
    columns, rows = utm.centres()
    back = Transformer.from_crs("EPSG:32631", "EPSG:27700", always_xy=True)
    easting, _ = back.transform(*np.meshgrid(columns, rows))
    plane = Band(name="bed", unit="m", values=(easting - 690_000).astype(np.float32))
    write_bands(tmp_path / "utm.tif", utm, [plane])
    found = read_aligned(tmp_path / "utm.tif", grid)["bed"]
    wanted = np.broadcast_to(grid.centres()[0] - 690_000, grid.shape)
    # GDAL approximates the transform to an eighth of a cell: 0.125 m here.
    np.testing.assert_allclose(found, wanted, rtol=0, atol=0.13)


def test_a_raster_that_ends_early_leaves_nan(tmp_path, grid, crs):
    half = Grid.covering(
        Bounds(west=690_000, east=690_020, south=350_000, north=350_030),
        cell_m=2.0,
        crs=crs,
    )
    band = Band(name="bed", unit="m", values=np.ones(half.shape, np.float32))
    write_bands(tmp_path / "half.tif", half, [band])
    found = read_aligned(tmp_path / "half.tif", grid)["bed"]
    assert np.isnan(found[:, 12:]).all()
    assert (found[:, :9] == 1).all()


def test_a_file_that_is_no_raster_is_refused_by_name(tmp_path, grid):
    (tmp_path / "bed.tif").write_bytes(b"")
    with pytest.raises(RasterRefused, match=r"bed.tif cannot be read"):
        read_aligned(tmp_path / "bed.tif", grid)


def test_a_raster_without_a_system_is_refused(tmp_path, grid, values):
    with rasterio.open(
        tmp_path / "lost.tif",
        "w",
        driver="GTiff",
        dtype="float32",
        count=1,
        height=grid.rows,
        width=grid.columns,
        transform=transform_of(grid),
    ) as tif:
        tif.write(values, 1)
    with pytest.raises(RasterRefused, match=r"lost.tif has no reference system"):
        read_aligned(tmp_path / "lost.tif", grid)


def test_a_failed_write_leaves_the_old_file_whole(tmp_path):
    path = tmp_path / "result.txt"
    path.write_text("old")

    def fail() -> None:
        with replacing(path) as temporary:
            temporary.write_text("half")
            message = "disk full"
            raise OSError(message)

    with pytest.raises(OSError, match="disk full"):
        fail()
    assert path.read_text() == "old"
    assert [item.name for item in tmp_path.iterdir()] == ["result.txt"]


@pytest.fixture
def stack(grid, values) -> Stack:
    ones = np.ones(grid.shape, np.float32)
    return Stack(
        grid=grid,
        fixed={
            "bed": values,
            "bed_sd": ones / 10,
            "silt": ones / 4,
            "sand": ones * 0.75,
        },
        by_level={
            0.6: {"depth": ones, "speed": ones / 2, "speed_sd": ones / 20},
            1.1: {"depth": ones * 1.5, "speed": ones, "speed_sd": ones / 10},
        },
    )


def test_a_stack_survives_the_disk(tmp_path, stack):
    write_stack(stack, tmp_path)
    found = read_stack(tmp_path)
    assert found.grid == stack.grid
    assert found.levels_m == (0.6, 1.1)
    assert found.substrates == ("silt", "sand")
    np.testing.assert_array_equal(found.layer("bed"), stack.layer("bed"))
    for name in ("depth", "speed", "speed_sd"):
        np.testing.assert_array_equal(
            found.layer(name, level_m=1.1), stack.layer(name, level_m=1.1)
        )


def test_the_mask_of_sheltered_water_survives_the_disk(tmp_path, stack, values):
    mask = np.where(np.isnan(values), np.nan, values > 0.5).astype(np.float32)
    by_level = {
        level: {**layers, "sheltered": mask} for level, layers in stack.by_level.items()
    }
    whole = Stack(grid=stack.grid, fixed=stack.fixed, by_level=by_level)
    write_stack(whole, tmp_path)
    found = read_stack(tmp_path).layer("sheltered", level_m=0.6)
    np.testing.assert_array_equal(found, mask)


def test_a_stack_without_the_mask_is_read_and_says_so(tmp_path, stack):
    write_stack(stack, tmp_path)
    found = read_stack(tmp_path)
    assert not found.holds("sheltered")
    assert found.holds("speed")
    with pytest.raises(LayerError, match="no layer 'sheltered'"):
        found.layer("sheltered", level_m=0.6)


def test_a_layer_that_is_gone_loses_its_file(tmp_path, stack):
    write_stack(stack, tmp_path)
    bare = {name: stack.fixed[name] for name in ("bed", "bed_sd")}
    write_stack(Stack(grid=stack.grid, fixed=bare, by_level=stack.by_level), tmp_path)
    assert not (tmp_path / "substrate.tif").exists()
    assert read_stack(tmp_path).shares() == {}


def test_a_level_that_was_not_built_is_named_with_those_that_were(stack):
    with pytest.raises(LevelMissing, match=r"level 0.9 m .* 0.600, 1.100"):
        stack.layer("depth", level_m=0.9)


def test_layers_cannot_be_changed_by_a_reader(stack):
    with pytest.raises(ValueError, match="read-only"):
        stack.layer("bed")[0, 0] = 1.0


def test_a_layer_of_another_shape_is_refused_by_name(grid):
    with pytest.raises(GridMismatch, match=r"'bed' has shape \(1, 1\)"):
        Stack(grid=grid, fixed={"bed": np.ones((1, 1), np.float32)}, by_level={})
