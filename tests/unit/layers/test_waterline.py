"""The water's surface and where its slope comes from."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from shapely import LineString, box

from layers.channel import Channel
from layers.river import Gauge, Rating, River, Survey
from layers.waterline import Waterline, fit_waterline

LINE = LineString([(0, 0), (1000, 0)])
WATER = box(0, -10, 1000, 10)


@pytest.fixture(scope="module")
def channel():
    return Channel.fit(LINE, WATER)


@pytest.fixture
def survey(crs):
    def made(*, soundings=None, slope=None, rating=None, flows=None):
        gauge = Gauge(level_m=0.5, zero_m=20.0, easting=400, northing=8, slope=slope)
        river = River(name="Trial", crs=crs, gauge=gauge, rating=rating)
        return Survey(
            folder=Path(),
            river=river,
            centreline=LINE,
            water=WATER,
            soundings=soundings,
            flows=flows,
        )

    return made


def soundings(*, bed_m=np.nan, depth_m=np.nan, level_m=0.5):
    easting = np.repeat(np.linspace(5, 995, 100), 4)
    return pd.DataFrame(
        {
            "easting": easting,
            "northing": np.tile([-6.0, -2.0, 2.0, 6.0], 100),
            "bed_m": bed_m(easting) if callable(bed_m) else bed_m,
            "depth_m": depth_m,
            "level_m": level_m,
            "sd_m": np.nan,
        }
    )


def test_the_surface_is_the_board_s_at_the_board_and_falls_downstream():
    line = Waterline(gauge_chainage_m=400, zero_m=20.0, slope=0.001, note="")
    # By hand: 20 + 0.5 and 0.4 m higher 400 m upstream, 0.6 lower 600 m downstream.
    np.testing.assert_allclose(
        line.elevation_m([400, 0, 1000], 0.5), [20.5, 20.9, 19.9], rtol=0, atol=1e-9
    )


def test_the_club_s_slope_is_used_and_said(survey, channel):
    line = fit_waterline(survey(slope=0.0006), channel)
    assert line.slope == 0.0006
    assert "0.0006" in line.note
    assert "river.toml" in line.note


def test_the_board_stands_at_its_chainage(survey, channel):
    line = fit_waterline(survey(slope=0.0), channel)
    assert line.gauge_chainage_m == pytest.approx(400, abs=1e-6)


def test_a_slope_uphill_is_taken_as_level_and_said(survey, channel):
    line = fit_waterline(survey(slope=-0.001), channel)
    assert line.slope == 0.0
    assert "-0.001" in line.note


def test_elevations_of_a_tilted_bed_give_its_slope(survey, channel):
    table = soundings(bed_m=lambda x: 19.0 - 0.002 * x)
    line = fit_waterline(survey(soundings=table), channel)
    # The median of pairwise slopes of a plane is the plane's: rounding only.
    assert line.slope == pytest.approx(0.002, rel=1e-6)
    assert "0.00200" in line.note


def test_a_quarter_of_wild_soundings_does_not_tilt_the_slope(survey, channel):
    table = soundings(bed_m=lambda x: 19.0 - 0.002 * x)
    table.loc[::4, "bed_m"] -= np.linspace(0, 5, 100)
    line = fit_waterline(survey(soundings=table), channel)
    # A least-squares line would give 0.0033; Theil-Sen bends by a few per cent.
    assert line.slope == pytest.approx(0.002, rel=0.05)


def test_a_bed_that_rises_downstream_is_taken_as_level_and_said(survey, channel):
    table = soundings(bed_m=lambda x: 19.0 + 0.002 * x)
    line = fit_waterline(survey(soundings=table), channel)
    assert line.slope == 0.0
    assert "-0.00200" in line.note


def test_depths_and_a_rating_give_manning_s_slope(survey, channel):
    table = soundings(depth_m=1.0)
    rating = Rating(a=24.0, b=1.0, offset_m=0.0)  # 12 m3/s at 0.5 m
    line = fit_waterline(survey(soundings=table, rating=rating), channel)
    # By hand: K = 20 m * 1 ** (5/3) / 0.035 = 571.43; (12 / K) ** 2 = 4.41e-4.
    assert line.slope == pytest.approx(4.41e-4, rel=1e-3)  # width to 0.1 %
    assert "rough estimate" in line.note


def test_a_shallow_half_steepens_the_slope_more_than_the_mean_depth_says(
    survey, channel
):
    table = soundings(depth_m=1.0)
    table.loc[table["easting"] > 500, "depth_m"] = 0.5
    rating = Rating(a=24.0, b=1.0, offset_m=0.0)
    line = fit_waterline(survey(soundings=table, rating=rating), channel)
    # By hand: 4.41e-4 where 1 m deep, 2 ** (10/3) times that where 0.5 m deep; the
    # mean of both. Stretches of 20 m at the border leave 2 %.
    assert line.slope == pytest.approx(4.41e-4 * (1 + 2 ** (10 / 3)) / 2, rel=0.02)


def test_depths_of_a_lower_day_are_raised_to_today_s_level(survey, channel):
    rating = Rating(a=24.0, b=1.0, offset_m=0.0)
    today = fit_waterline(
        survey(soundings=soundings(depth_m=1.0), rating=rating), channel
    )
    lower = soundings(depth_m=0.8, level_m=0.3)
    then = fit_waterline(survey(soundings=lower, rating=rating), channel)
    assert then.slope == pytest.approx(today.slope, rel=1e-9)  # same depths, rounded


def test_nothing_to_go_by_is_a_level_pool_and_said(survey, channel):
    line = fit_waterline(survey(soundings=soundings(depth_m=1.0)), channel)
    assert line.slope == 0.0
    assert "taken as level" in line.note


def test_a_handful_of_elevations_is_not_enough_for_a_slope(survey, channel):
    table = soundings(bed_m=lambda x: 19.0 - 0.002 * x).head(9)
    assert fit_waterline(survey(soundings=table), channel).slope == 0.0


def test_the_order_of_soundings_does_not_matter(survey, channel):
    rng = np.random.default_rng(3)
    table = soundings(bed_m=lambda x: 19.0 - 0.001 * x + rng.normal(0, 0.5, x.size))
    one = fit_waterline(survey(soundings=table), channel)
    other = fit_waterline(survey(soundings=table[::-1]), channel)
    assert one == other
