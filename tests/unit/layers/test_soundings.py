"""From depths to points of the bed, by hand."""

import numpy as np
import pandas as pd
import pytest

from layers.channel import Channel
from layers.soundings import SOUNDING_SD_M, bed_points, find_spikes


class Surface:
    """Water at 20 m plus the reading at chainage 100, falling 1 mm a metre."""

    def elevation_m(self, chainage_m, level_m):
        return 20.0 + np.asarray(level_m) + 0.001 * (100.0 - np.asarray(chainage_m))


@pytest.fixture
def channel(straight_line, straight_water):
    return Channel.fit(straight_line, straight_water)


def table(**columns):
    count = len(columns["easting"])
    blank = {name: np.full(count, np.nan) for name in ("depth_m", "bed_m", "sd_m")}
    return pd.DataFrame({**blank, "level_m": np.full(count, 0.6), **columns})


def test_a_bed_is_the_water_at_its_own_place_and_time_less_the_depth(channel):
    points = bed_points(
        table(
            easting=[1050.0, 1150.0],
            northing=[52.0, 45.0],
            depth_m=[1.5, 2.0],
            level_m=[0.6, 0.9],
        ),
        channel,
        Surface(),
    )
    # 20 + 0.6 + 0.05 - 1.5 and 20 + 0.9 - 0.05 - 2.0
    np.testing.assert_allclose(points["bed_m"], [19.15, 18.85], atol=1e-9)
    np.testing.assert_allclose(points["chainage_m"], [50, 150], atol=1e-9)
    np.testing.assert_allclose(points["offset_m"], [2, -5], atol=1e-9)


def test_a_bed_given_as_an_elevation_is_taken_as_it_is(channel):
    given = table(easting=[1050.0], northing=[50.0], bed_m=[17.25])
    assert bed_points(given, channel, Surface())["bed_m"].tolist() == [17.25]


def test_the_clubs_own_error_is_kept_and_the_common_one_fills_in(channel):
    sounded = table(
        easting=[1050.0, 1060.0],
        northing=[50.0, 50.0],
        depth_m=[1.0, 1.0],
        sd_m=[0.2, np.nan],
    )
    points = bed_points(sounded, channel, Surface())
    assert points["sd_m"].tolist() == [0.2, SOUNDING_SD_M]


def test_soundings_of_one_place_are_averaged_and_keep_the_first_row(channel):
    sounded = table(
        easting=[1050.0, 1080.0, 1050.0],
        northing=[50.0, 50.0, 50.0],
        depth_m=[1.0, 3.0, 1.2],
    )
    sounded.index = pd.Index([2, 3, 4], name="row")
    points = bed_points(sounded, channel, Surface())
    assert points.index.tolist() == [2, 3]
    np.testing.assert_allclose(points["bed_m"], [19.55, 17.62], atol=1e-9)
    np.testing.assert_allclose(points["sd_m"], [0.05 / np.sqrt(2), 0.05], atol=1e-9)


def test_a_sounding_without_a_bed_is_left_out(channel):
    sounded = table(
        easting=[1050.0, 1060.0], northing=[50.0, 50.0], depth_m=[1.0, np.nan]
    )
    assert len(bed_points(sounded, channel, Surface())) == 1


def test_a_false_echo_is_flagged_and_nothing_else(rng, channel):
    east, north = np.meshgrid(np.arange(1010.0, 1200.0, 10), np.arange(42.0, 60.0, 3))
    depth_m = 1.5 + 0.002 * (east - 1000) + rng.normal(0, 0.05, east.shape)
    depth_m[2, 9] += 1.2
    points = bed_points(
        table(easting=east.ravel(), northing=north.ravel(), depth_m=depth_m.ravel()),
        channel,
        Surface(),
    )
    assert np.flatnonzero(points["spike"]).tolist() == [2 * 19 + 9]


def test_a_scour_hole_that_several_soundings_saw_is_no_spike(rng):
    along, across = np.meshgrid(np.arange(0.0, 60, 3), np.arange(0.0, 18, 3))
    hole = 1.5 * np.exp(-((along - 30) ** 2 + (across - 9) ** 2) / (2 * 4.0**2))
    bed_m = 18 - hole + rng.normal(0, 0.05, hole.shape)
    assert not find_spikes(along, across, bed_m).any()


def test_one_step_among_many_at_a_sill_is_no_spike():
    along, across = np.meshgrid(np.arange(0.0, 60, 4), np.arange(0.0, 24, 4))
    sill = np.where((along > 26) & (along < 34), 1.0, 0.0)
    notched = sill * ((across // 4) % 2)
    assert not find_spikes(along, across, notched).any()


def test_a_steep_bank_is_no_spike():
    along, across = np.meshgrid(np.arange(0.0, 40, 2), np.arange(0.0, 20, 2))
    assert not find_spikes(along, across, np.minimum(0.9 * across, 4.0)).any()


def test_unknown_values_are_never_spikes_and_few_values_neither():
    assert not find_spikes([0, 1, 2], [0, 0, 0], [1.0, 9.0, 1.0]).any()
    values = np.ones(20)
    values[3], values[11] = np.nan, 7.0
    found = find_spikes(np.arange(20.0), np.zeros(20), values)
    assert np.flatnonzero(found).tolist() == [11]
