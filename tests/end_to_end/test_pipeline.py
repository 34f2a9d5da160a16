"""From survey to layers: ready rasters, levels, what is absent, what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from layers import build, read_survey
from layers.channel import Channel
from layers.errors import LayerError
from layers.grid import Bounds, Grid
from layers.raster import Band, write_bands
from layers.river import SUBSTRATES

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def folder(tmp_path_factory, write_survey):
    return write_survey(tmp_path_factory.mktemp("pipeline") / "river")


@pytest.fixture(scope="module")
def stack(folder):
    return build(read_survey(folder), cell_m=2.0, levels_m=[0.6, 0.9])


def ready(folder, name: str, value: float, bands: tuple[str, ...]) -> None:
    """A flat ready raster over the whole river, on a grid of its own."""
    water = read_survey(folder).water
    own = Grid.covering(
        Bounds.of(water).grown(10), cell_m=3.0, crs=read_survey(folder).river.crs
    )
    flat = np.full(own.shape, value, np.float32)
    layers = [Band(name=band, unit="m", values=flat) for band in bands]
    write_bands(folder / "rasters" / f"{name}.tif", own, layers)


@pytest.fixture
def with_rasters(tmp_path, write_survey):
    return write_survey(tmp_path / "river")


def test_depth_rises_by_just_the_boards_rise(stack):
    """The bed is one; only the surface moves, by 0.3 m everywhere wet at both."""
    low, high = (stack.layer("depth", level_m=level) for level in (0.6, 0.9))
    both = np.isfinite(low) & np.isfinite(high)
    assert both.sum() > 1000
    np.testing.assert_allclose((high - low)[both], 0.3, atol=1e-5)  # float32


def test_no_cell_dries_as_the_river_rises(stack):
    low, high = (stack.layer("depth", level_m=level) for level in (0.6, 0.9))
    assert not (np.isfinite(low) & np.isnan(high)).any()


def test_bottom_shares_sum_to_one(stack):
    total = sum(stack.shares().values())
    np.testing.assert_allclose(total[np.isfinite(total)], 1.0, atol=1e-5)  # float32


def test_a_ready_bed_takes_the_place_of_the_soundings(with_rasters):
    ready(with_rasters, "bed", 19.0, ("bed",))
    (with_rasters / "soundings.csv").unlink()
    stack = build(read_survey(with_rasters), cell_m=2.0)
    bed = stack.layer("bed")
    np.testing.assert_allclose(bed[np.isfinite(bed)], 19.0, rtol=1e-6)
    assert any("taken from rasters/bed.tif" in note for note in stack.notes)
    # an error nobody gave is the stated tenth of a metre, not zero
    assert np.nanmax(stack.layer("bed_sd")) == pytest.approx(0.10)


def test_a_ready_beds_own_error_is_kept(with_rasters):
    ready(with_rasters, "bed", 19.0, ("bed", "bed_sd"))
    stack = build(read_survey(with_rasters), cell_m=2.0)
    assert np.nanmin(stack.layer("bed_sd")) == pytest.approx(19.0)


def test_a_ready_depth_is_met_at_the_normal_level(with_rasters):
    ready(with_rasters, "depth", 1.25, ("0.600",))
    stack = build(read_survey(with_rasters), cell_m=2.0, levels_m=[0.6, 0.8])
    depth = stack.layer("depth", level_m=0.6)
    np.testing.assert_allclose(depth[np.isfinite(depth)], 1.25, atol=1e-5)
    higher = stack.layer("depth", level_m=0.8)
    np.testing.assert_allclose(higher[np.isfinite(higher)], 1.45, atol=1e-5)


def test_a_ready_speed_stands_at_the_normal_level_alone(with_rasters):
    ready(with_rasters, "speed", 0.33, ("0.600",))
    stack = build(read_survey(with_rasters), cell_m=2.0, levels_m=[0.6, 0.9])
    speed = stack.layer("speed", level_m=0.6)
    np.testing.assert_allclose(speed[np.isfinite(speed)], 0.33, rtol=1e-5)
    assert np.nanstd(stack.layer("speed", level_m=0.9)) > 0.01


def test_a_ready_bottom_takes_the_place_of_the_grabs(with_rasters):
    ready(with_rasters, "substrate", 0.5, ("gravel", "sand"))
    stack = build(read_survey(with_rasters), cell_m=2.0)
    assert set(stack.substrates) == {"sand", "gravel"}
    assert set(stack.substrates) <= set(SUBSTRATES)


def test_without_grabs_there_is_no_bottom_layer(with_rasters):
    (with_rasters / "bed.csv").unlink()
    stack = build(read_survey(with_rasters), cell_m=2.0)
    assert stack.shares() == {}


@pytest.mark.parametrize("cell_m", [0.0, -2.0, float("nan")])
def test_a_cell_size_that_is_none_is_refused(folder, cell_m):
    with pytest.raises(LayerError, match="cell size"):
        build(read_survey(folder), cell_m=cell_m)


def test_cells_wider_than_the_river_are_refused_with_the_way_out(folder):
    with pytest.raises(LayerError, match="choose a smaller --cell"):
        build(read_survey(folder), cell_m=900.0)


def test_a_level_that_is_no_number_is_refused(folder):
    with pytest.raises(LayerError, match="level nan"):
        build(read_survey(folder), cell_m=2.0, levels_m=[float("nan")])


def test_progress_tells_each_step(folder):
    told: list[str] = []
    build(read_survey(folder), cell_m=4.0, progress=told.append)
    assert [word for word in ("bed", "bottom", "depth") if word in " ".join(told)] == [
        "bed",
        "bottom",
        "depth",
    ]


def test_the_lee_of_a_spur_is_marked_and_its_pace_called_a_guess(with_rasters):
    """A spur 8 m into the stream: 5 times as long a lee below it, none above it."""
    survey = read_survey(with_rasters)
    channel = Channel.fit(survey.centreline, survey.water)
    own = Grid.covering(
        Bounds.of(survey.water).grown(10), cell_m=1.0, crs=survey.river.crs
    )
    easting, northing = np.meshgrid(*own.centres())
    chainage_m, offset_m = channel.to_channel(easting, northing)
    spur = (np.abs(chainage_m - 100) < 2) & (offset_m > 13 - 8)
    bed = Band(name="bed", unit="m", values=np.where(spur, 22.0, 19.0))
    write_bands(with_rasters / "rasters" / "bed.tif", own, [bed])
    stack = build(read_survey(with_rasters), cell_m=1.0)
    sheltered, speed, sd = (
        stack.layer(name, level_m=0.6) for name in ("sheltered", "speed", "speed_sd")
    )

    def at(chainage, offset):
        place = channel.to_world([chainage], [offset])
        row, column = stack.grid.cell_at(*place)
        return int(row[0]), int(column[0])

    assert sheltered[at(110, 11)] == 1
    assert sheltered[at(130, 12)] == 1  # 28 m down: 2.4 m of 8 m are left
    assert sheltered[at(160, 11)] == 0
    assert sheltered[at(90, 11)] == 0
    assert sheltered[at(110, -8)] == 0
    lee = at(110, 11)
    assert sd[lee] >= 0.5 * speed[lee]
