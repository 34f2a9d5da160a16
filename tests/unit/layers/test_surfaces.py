"""Surfaces through scattered points where the answer needs no computer."""

import numpy as np
import pytest

from layers.surfaces import thin_plate, triangulate


@pytest.fixture
def places(rng):
    return rng.uniform(0, 30, (120, 2))


@pytest.fixture
def wanted(rng):
    return rng.uniform(5, 25, (200, 2))


@pytest.mark.parametrize("smoothing", [0.0, 3.0])
def test_a_plane_is_met_exactly_however_slack_the_plate(places, wanted, smoothing):
    plane = 4 + 0.02 * places[:, 0] - 0.03 * places[:, 1]
    found = thin_plate(places, plane, wanted, smoothing=smoothing)
    expected = 4 + 0.02 * wanted[:, 0] - 0.03 * wanted[:, 1]
    np.testing.assert_allclose(found, expected, atol=1e-9)  # rounding of the solver


def test_a_plate_without_slack_goes_through_its_points(places, rng):
    values = rng.normal(0, 1, 120)
    found = thin_plate(places, values, places, overshoot_m=np.inf)
    np.testing.assert_allclose(found, values, atol=1e-9)


def test_slack_lets_a_plate_miss_a_poor_point_more(places):
    values = np.zeros(120)
    values[7] = 1.0
    slack = np.ones(120)
    even = thin_plate(places, values, places[7:8], smoothing=slack)
    slack[7] = 100.0
    poor = thin_plate(places, values, places[7:8], smoothing=slack)
    assert 0 < poor[0] < even[0] < 1


def test_a_plate_stays_near_the_range_of_its_neighbours():
    places = np.column_stack([np.repeat([0.0, 1.0], 5), np.tile(np.arange(5.0), 2)])
    cliff = 10 * places[:, 0]
    far = np.array([[5.0, 2.0], [-5.0, 2.0]])
    # the plane goes on to 50 and -50: kept to 10 + 0.3 and 0 - 0.3
    np.testing.assert_allclose(thin_plate(places, cliff, far), [10.3, -0.3], atol=1e-9)


def test_points_on_one_line_still_give_a_surface():
    places = np.column_stack([np.arange(20.0), np.zeros(20)])
    found = thin_plate(places, np.full(20, 3.0), np.array([[4.5, 0.0], [4.5, 6.0]]))
    np.testing.assert_allclose(found, 3.0, atol=1e-9)
    found = triangulate(places, places[:, 0], np.array([[4.2, 9.0]]))
    assert found.tolist() == [4.0]  # no triangle: the nearest


def test_three_points_give_the_nearest_value():
    places = np.array([[0.0, 0], [10, 0], [0, 10]])
    found = thin_plate(places, np.array([1.0, 2.0, 3.0]), np.array([[8.0, 1.0]]))
    assert found.tolist() == [2.0]


def test_triangles_are_planes_inside_and_nearest_outside():
    places = np.array([[0.0, 0], [4, 0], [0, 4]])
    found = triangulate(places, np.array([0.0, 4.0, 8.0]), np.array([[1, 1], [9, 0.0]]))
    assert found.tolist() == [3.0, 4.0]
