"""Cutting with the water near by gives what cutting with the whole river gives."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS
from shapely import LineString

from layers.channel import Channel
from pegscore.nearby import FEW, meet
from pegscore.pegs import place_pegs
from pegscore.reach import _all_convex, _unfolded, swims

ROUNDING = 1e-9
"""Metres: coordinates of a national grid carry some 1e-10."""


def winding(length_m: float = 3000.0) -> LineString:
    along = np.arange(0.0, length_m, 5.0)
    return LineString(np.column_stack([along, 60 * np.sin(along / 110)]))


WATER = shapely.difference(
    shapely.buffer(winding(), 14, cap_style="flat"),
    shapely.union_all([shapely.box(x, -90, x + 6, 90) for x in range(200, 2900, 400)]),
)


@given(seed=st.integers(0, 2**32 - 1), many=st.integers(0, 3 * FEW))
def test_shapes_meet_what_they_meet_in_the_whole_river(seed, many):
    rng = np.random.default_rng(seed)
    at = np.column_stack([rng.uniform(-50, 3050, many), rng.uniform(-90, 90, many)])
    size = rng.uniform(0.1, 40.0, many)
    shapes = np.asarray(shapely.box(*at.T, *(at + size[:, None]).T), object)
    whole = shapely.intersection(shapes, WATER)
    apart = shapely.area(shapely.symmetric_difference(meet(shapes, WATER), whole))
    assert np.all(apart <= ROUNDING * np.maximum(size, 1.0))


def test_each_shape_meets_its_own_water_and_an_empty_one_nothing():
    lines = np.array([LineString([(5, -9), (5, 9)])] * 3 + [LineString()], object)
    narrow, wide = shapely.box(0, -1, 10, 1), shapely.box(0, -3, 10, 3)
    met = meet(lines, np.array([narrow, wide, narrow, wide], object))
    assert shapely.length(met).tolist() == [2.0, 6.0, 2.0, 0.0]


@pytest.mark.parametrize("radius_m", [400.0, 60.0])
def test_a_rim_drawn_at_once_is_the_steps_joined(radius_m):
    """On a bend whose inside does not fold, and on the outside of any."""
    turn = np.linspace(0, 1.2, 60)
    rings = [
        np.column_stack([r * np.cos(turn), r * np.sin(turn)])
        for r in (radius_m, radius_m + 9)
    ]
    near, far = (ring[None] for ring in rings)
    corners = np.stack([near[:, :-1], near[:, 1:], far[:, 1:], far[:, :-1]], axis=2)
    assert _all_convex(corners).all()
    rim = shapely.polygons(np.concatenate([near, far[:, ::-1]], axis=1))
    apart = shapely.symmetric_difference(rim, _unfolded(corners))
    assert shapely.area(apart).max() < ROUNDING


def test_a_step_that_folds_over_is_not_taken_for_plain():
    near = np.array([[[0, 0], [1, 0], [2, 0]]], float)
    far = np.array([[[0, 5], [2.5, 5], [1.5, 5]]], float)  # the second runs back
    corners = np.stack([near[:, :-1], near[:, 1:], far[:, 1:], far[:, :-1]], axis=2)
    assert not _all_convex(corners).any()


def test_the_swims_of_a_tight_bend_stay_within_the_water():
    bend = winding()
    water = shapely.buffer(bend, 14, cap_style="flat")
    channel = Channel.fit(bend, water)
    at = shapely.line_interpolate_point(bend, np.arange(100, 2900, 37.0))
    table = pd.DataFrame(
        {
            "peg": [str(number) for number in range(len(at))],
            "easting": shapely.get_x(at),
            "northing": shapely.get_y(at) + 13.0,
        }
    )
    found = swims(place_pegs(table, channel, CRS.from_epsg(27700)), channel)
    assert found.is_valid.all()
    assert (found.area > 0).all()
    assert shapely.area(found.difference(water)).max() < ROUNDING
