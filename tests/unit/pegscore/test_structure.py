"""Creases and slacks a peg can reach, on waters drawn with a ruler."""

from __future__ import annotations

import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point, Polygon, box

from layers.structure import find_structure
from pegscore.structure import STRUCTURE_COLUMNS, structure_features

sys.path.append(str(Path(__file__).parent.parent.parent))
from structure_world import LEVEL_M, World, shear


def pocket(chainage, offset):
    """Return 10 x 5 m of slack in the first swim's south-west corner."""
    return (chainage > 40) & (chainage < 50) & (offset > 5) & (offset < 10)


@pytest.fixture(scope="module")
def told():
    """A crease at offset 10, seats on the left bank at 22; the last has no water."""

    def speed(chainage, offset):
        return np.where(pocket(chainage, offset), 0.05, shear(10.0)(chainage, offset))

    world = World(speed=speed)
    pegs = gpd.GeoDataFrame(
        {"swim": [box(40, 0, 60, 20), box(140, 14, 160, 20), Polygon()]},
        index=["long", "short", "none"],
        geometry=[Point(50, 22), Point(150, 22), Point(200, 22)],
        crs="EPSG:27700",
    )
    found = find_structure(world.stack, world.channel, level_m=LEVEL_M)
    return structure_features(found, world.grid, pegs)


def test_every_peg_gets_every_column(told):
    assert tuple(told.columns) == STRUCTURE_COLUMNS
    assert told.index.tolist() == ["long", "short", "none"]


def test_the_crease_is_told_in_metres_out_from_the_seat(told):
    # 22 - 10, give or take the cell that the crease is found to.
    assert told.loc["long", "crease_m_out"] == pytest.approx(12.0, abs=1.0)


def test_a_crease_beyond_reach_is_none(told):
    assert np.isnan(told.loc["short", "crease_m_out"])
    assert told["shelf_m_out"].isna().all()


def test_slack_is_a_share_of_the_water_in_reach(told):
    # 10 x 5 m of 20 x 20 m; the cells' centres are on the half metre.
    assert told.loc["long", "slack_share"] == pytest.approx(50 / 400, abs=0.02)
    assert told.loc["short", "slack_share"] == 0.0


def test_aeration_is_the_mean_of_the_formula_over_the_swim(told):
    # 3.93 U^0.5 / 1.5^1.5 at offsets 14.5 to 19.5 by the fixture's own shear
    offsets = np.arange(14.5, 20.0)
    expected = np.mean(3.93 * np.sqrt(shear(10.0)(offsets, offsets)) / 1.5**1.5)
    assert told.loc["short", "reaeration_per_day"] == pytest.approx(expected, rel=1e-3)


def test_a_peg_without_water_has_nothing(told):
    assert told.loc["none"].isna().all()
