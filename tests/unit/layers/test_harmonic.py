"""Harmonic coordinates where the two heat problems have textbook solutions."""

import numpy as np
import pytest
import shapely
from shapely import LineString, box

from layers.axis import Axis
from layers.channel import Channel
from layers.harmonic import HarmonicFrame


def frame(line, water, half_m):
    axis = Axis.through(line, smoothing_m=half_m / 4)
    stations_m = np.array([0.0, axis.length_m])
    return HarmonicFrame(axis, water, stations_m, np.full(2, half_m)), axis


@pytest.fixture(scope="module")
def straight():
    return frame(LineString([(0, 0), (200, 0)]), box(0, -10, 200, 10), 10.0)[0]


def test_on_a_straight_river_they_are_differences(straight, rng):
    easting, northing = rng.uniform(4, 196, 300), rng.uniform(-9.9, 9.9, 300)
    chainage_m, offset_m = straight.project(easting, northing)
    # a linear field is exact but for the outline's staircase: half a cell, 0.4 m
    np.testing.assert_allclose(chainage_m, easting, atol=0.45)
    np.testing.assert_allclose(offset_m, northing, atol=0.45)


def test_beyond_a_bank_and_beyond_an_end_they_run_on(straight):
    chainage_m, offset_m = straight.project(
        np.array([50.0, 50.0, -6.0, 207.0]), np.array([15.0, -12.0, 0.0, 0.0])
    )
    np.testing.assert_allclose(
        offset_m[:2], [15, -12], atol=1e-6
    )  # clipped at the bank
    np.testing.assert_allclose(chainage_m, [50, 50, -6, 207], atol=0.45)


def test_the_world_place_is_found_again(straight, rng):
    easting, northing = rng.uniform(2, 198, 200), rng.uniform(-9, 9, 200)
    back = straight.world(*straight.project(easting, northing))
    # a hundredth of the width
    np.testing.assert_allclose(back, np.column_stack([easting, northing]), atol=0.2)


def test_in_a_ring_the_field_across_goes_with_the_logarithm_of_the_radius():
    # Laplace's equation between two circles held at -1 and 1 (any textbook on heat):
    # 2 ln(r / sqrt(R1 R2)) / ln(R2 / R1)
    inner, outer = 20.0, 60.0
    phi = np.linspace(0, 2.0, 400)
    line = LineString(np.column_stack([40 * np.cos(phi), 40 * np.sin(phi)]))
    water = line.buffer(20, cap_style="flat", quad_segs=64)
    made, _ = frame(line, water, 20.0)
    radius, at = np.meshgrid(np.linspace(23, 57, 12), np.linspace(0.5, 1.5, 9))
    _, offset_m = made.project(radius * np.cos(at), radius * np.sin(at))
    heat = -2 * np.log(radius / np.sqrt(inner * outer)) / np.log(outer / inner)
    # left is inside here; half a cell of the mesh is 0.8 m, 4 % of the half width
    np.testing.assert_allclose(offset_m, 20 * heat.ravel(), atol=0.9)


def test_a_folding_meander_gets_no_seams_and_a_round_trip(rng):
    along = np.arange(0.0, 550.0)
    angle = 1.31 * np.sin(2 * np.pi * along / 110)  # R_min 13.4 m, half width 15 m
    path = np.column_stack([np.cumsum(np.cos(angle)), np.cumsum(np.sin(angle))])
    water = LineString(path).buffer(15, cap_style="flat")
    channel = Channel.fit(LineString(path), water)
    west, south, east, north = water.bounds
    place = rng.uniform((west, south), (east, north), (9000, 2))
    place = place[shapely.contains_xy(water.buffer(-0.6), place)].T
    chainage_m, offset_m = channel.to_channel(*place)
    miss_m = np.hypot(*(np.array(channel.to_world(chainage_m, offset_m)) - place))
    assert np.quantile(miss_m, 0.99) < 0.3  # a hundredth of the width
    beside = place[0] + 0.5, place[1]
    step_m = channel.to_channel(*beside)[0] - chainage_m
    jump_m = channel.axis.project(*beside)[0] - channel.axis.project(*place)[0]
    assert np.abs(jump_m).max() > 10  # nearest points of the axis have a seam
    assert np.abs(step_m).max() < 5  # towards a bend's centre chainage runs fast
