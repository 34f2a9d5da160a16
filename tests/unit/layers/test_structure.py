"""Creases, shelves, slacks and edges in waters where anybody can say where they are."""

from __future__ import annotations

import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
from shapely import LineString, Point, box

from layers.errors import LevelMissing
from layers.structure import find_structure
from layers.structure_file import write_structure

sys.path.append(str(Path(__file__).parent.parent.parent))
from structure_world import LENGTH_M, LEVEL_M, World, even, shear


def structure_of(world: World, places=None):
    return find_structure(world.stack, world.channel, level_m=LEVEL_M, places=places)


@pytest.mark.parametrize("at_m", [-8.0, -2.7, 0.0, 3.3, 10.0])
def test_a_shear_layer_is_one_crease_in_its_place_and_strength(at_m):
    """0.4 m/s over a tanh of half width 3 m: 0.2 / 3 1/s at the middle.

    Differences over two cells of a third of the half width lose
    ``1 - tanh(1/3) / (1/3)`` = 3.5 %, and half a cell off the middle 2.7 % more.
    """
    world = World(speed=shear(at_m))
    creases = world.lines("crease", structure_of(world))
    assert len(creases) == 1
    crease = creases.iloc[0]
    assert crease["offset_m"] == pytest.approx(at_m, abs=1.0)  # a cell
    assert crease["strength"] == pytest.approx(0.2 / 3, rel=0.07)
    assert crease["unit"] == "m/s per m"
    # From end to end, but for the quarter width where sections are not whole.
    assert crease.geometry.length == pytest.approx(LENGTH_M, abs=4.0)
    north = np.array(crease.geometry.coords)[:, 1]
    np.testing.assert_allclose(north, at_m, atol=1.0)


def test_both_sides_of_a_tongue_of_fast_water_are_creases():
    def tongue(_chainage, offset):
        return 0.3 + 0.4 * np.exp(-((offset / 6.0) ** 2))

    world = World(speed=tongue)
    creases = world.lines("crease", structure_of(world))
    # exp(-(n/6)^2) is steepest at 6 / sqrt(2) = 4.24 m either side.
    assert sorted(creases["offset_m"]) == pytest.approx([-4.24, 4.24], abs=1.0)


def test_a_weak_shear_is_no_crease():
    world = World(speed=shear(0.0, jump_m_s=0.1))
    assert world.lines("crease", structure_of(world)).empty


def test_a_short_shear_is_dropped():
    def short(chainage, offset):
        near = np.abs(chainage - 120) < 3
        return np.where(near, shear(0.0)(chainage, offset), 0.45)

    world = World(speed=short)
    assert world.lines("crease", structure_of(world)).empty


def test_a_step_between_two_flats_is_a_shelf_along_its_middle():
    """Flat, then 0.3 m a metre over 4 m, then flat: the shelf is the slope's middle."""
    world = World(depth=lambda _c, n: 1.0 + 0.3 * np.clip(n - 2.0, 0.0, 4.0))
    shelves = world.lines("shelf", structure_of(world))
    assert len(shelves) == 1
    assert shelves["offset_m"].iloc[0] == pytest.approx(4.0, abs=1.0)
    assert shelves["strength"].iloc[0] == pytest.approx(0.3, rel=1e-3)  # float32
    assert world.lines("crease", structure_of(world)).empty


def test_a_bank_that_slopes_into_the_water_is_no_shelf():
    world = World(depth=lambda _c, n: 0.1 + 0.25 * (20 - np.abs(n)))
    found = world.lines("shelf", structure_of(world))
    assert found.empty


def test_gradients_are_laid_on_the_cells_with_their_units():
    world = World(speed=lambda _c, n: 0.5 + 0.01 * n, depth=lambda _c, n: 2 - 0.05 * n)
    rasters = structure_of(world).rasters
    wet = np.isfinite(world.stack.layer("depth", level_m=LEVEL_M))
    for name, expected in (("speed_gradient", 0.01), ("depth_gradient", 0.05)):
        np.testing.assert_allclose(rasters[name][wet], expected, rtol=1e-3)  # float32
        assert np.isnan(rasters[name][~wet]).all()
        assert rasters[name].dtype == np.float32


def test_a_pocket_of_slow_deep_water_is_a_slack_and_a_slow_shallow_is_not():
    """12 x 5 m at 0.05 m/s in 1.5 m of water; another in 0.3 m."""

    def pocket(chainage, offset, at):
        return (np.abs(chainage - at) < 6) & (np.abs(offset + 10) < 2.5)

    world = World(
        speed=lambda c, n: np.where(pocket(c, n, 60) | pocket(c, n, 150), 0.05, 0.5),
        depth=lambda c, n: np.where(pocket(c, n, 150), 0.3, 1.5),
    )
    found = structure_of(world)
    slacks = world.areas("slack", found)
    assert len(slacks) == 1
    assert slacks["area_m2"].iloc[0] == pytest.approx(60.0, abs=17.0)  # half a rim cell
    assert slacks.geometry.iloc[0].contains(Point(60, -10))
    assert np.nansum(found.rasters["slack"]) == slacks["area_m2"].iloc[0]


@pytest.mark.parametrize("length_m", [6.0, 10.0])
def test_the_lee_of_a_groyne_is_five_times_its_length(length_m):
    """A triangle 5 L long and L wide at its root: area 2.5 L²."""

    def depth(chainage, offset):
        groyne = (np.abs(chainage - 60) < 1.0) & (offset > 20 - length_m)
        return np.where(groyne, np.nan, 1.5)

    world = World(depth=depth)
    lees = world.areas("lee", structure_of(world))
    assert len(lees) == 1
    west, south, east, north = lees.geometry.iloc[0].bounds
    # the first cells behind the groyne; the thin end is lost in the last cell of width
    assert west == pytest.approx(61.0, abs=1.0)
    assert east - 61.0 == pytest.approx(5 * length_m, abs=6.0)
    assert north - south == pytest.approx(length_m, abs=1.0)
    assert lees["area_m2"].iloc[0] == pytest.approx(2.5 * length_m**2, rel=0.10)


def test_a_lee_deep_enough_is_slack_whatever_the_model_says_of_its_pace():
    def depth(chainage, offset):
        groyne = (np.abs(chainage - 60) < 1.0) & (offset > 12)
        return np.where(groyne, np.nan, 1.5)

    world = World(speed=even(0.6), depth=depth)
    found = structure_of(world)
    lee, slack = (world.areas(kind, found) for kind in ("lee", "slack"))
    assert slack["area_m2"].sum() == lee["area_m2"].sum() > 0


def test_what_the_flow_calls_sheltered_is_slack():
    world = World()
    marks = np.zeros(world.grid.shape, np.float32)
    marks[5:10, 100:110] = 1.0
    layers = {**world.stack.by_level[LEVEL_M], "sheltered": marks}
    world.stack = type(world.stack)(
        grid=world.grid, fixed=world.stack.fixed, by_level={LEVEL_M: layers}
    )
    assert world.areas("slack", structure_of(world))["area_m2"].tolist() == [50.0]


def test_the_edge_of_gravel_is_where_half_the_bottom_is_gravel_or_cobble():
    def gravel(_chainage, offset):
        return np.clip(0.25 + 0.05 * (offset + 5), 0, 0.5)

    world = World(gravel=gravel, cobble=gravel, sand=lambda c, n: 1 - 2 * gravel(c, n))
    edges = world.lines("gravel_edge", structure_of(world))
    assert len(edges) == 1
    assert edges["offset_m"].iloc[0] == pytest.approx(-5.0, abs=0.05)
    assert edges["strength"].iloc[0] == pytest.approx(0.1, rel=1e-3)  # both together


def test_without_a_bottom_survey_there_is_no_edge_of_gravel():
    world = World()
    assert world.lines("gravel_edge", structure_of(world)).empty


def test_shade_and_cover_come_from_trees_snags_and_weed_alone(crs):
    places = gpd.GeoDataFrame(
        {"kind": ["tree", "snag", "weed", "spawning", "weir"]},
        geometry=[
            Point(50, 19),
            LineString([(80, 0), (84, 0)]),
            box(100, -10, 110, -5),
            box(120, -10, 140, 10),
            Point(200, 0),
        ],
        crs=crs,
    )
    world = World()
    found = structure_of(world, places)
    assert sorted(found.areas["kind"]) == ["cover", "cover", "cover", "shade"]
    shade = world.areas("shade", found).iloc[0]
    # A crown of 4 m round a trunk 1 m from the bank: over half of its 50 m².
    assert np.pi * 16 / 2 < shade["area_m2"] < np.pi * 16
    cover = world.areas("cover", found)
    assert 50.0 in cover["area_m2"].tolist()  # the weed bed as drawn, 10 x 5 m
    assert not found.areas.intersects(box(121, -9, 139, 9)).any()


def test_a_level_that_was_not_built_is_refused():
    world = World()
    with pytest.raises(LevelMissing, match=r"level 0.9 m"):
        find_structure(world.stack, world.channel, level_m=0.9)


def test_the_file_holds_every_level_and_reads_with_another_library(tmp_path):
    found = structure_of(World(speed=shear(0.0)))
    bare = structure_of(World())
    path = write_structure([found, bare], tmp_path / "structure.gpkg")
    assert [item.name for item in tmp_path.iterdir()] == ["structure.gpkg"]
    assert sorted(name for name, _ in pyogrio.list_layers(path)) == ["areas", "lines"]
    lines = gpd.read_file(path, layer="lines")
    assert lines["kind"].tolist() == ["crease"]
    assert lines["level_m"].tolist() == [LEVEL_M]
    assert lines.crs.to_epsg() == 27700
    assert len(gpd.read_file(path, layer="areas")) == 0
