"""What a moment's light is called, and when there is none."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from pegscore.daylight import light_at
from pegscore.errors import PegError

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("hour", "minute", "phase"),
    [
        (2, 0, "night"),
        (4, 30, "dawn"),  # sunrise at 51.5° N in mid June is about 04:43 summer time
        (13, 0, "day"),
        (21, 30, "dusk"),  # sunset about 21:20
        (23, 0, "night"),  # civil twilight ends about 22:07
    ],
)
def test_the_light_of_an_english_june_day(hour, minute, phase):
    moment = dt.datetime(2026, 6, 16, hour, minute, tzinfo=LONDON)
    assert light_at(moment, longitude=0.0, latitude=51.5).phase == phase


def test_evening_is_dusk_south_of_the_equator_too():
    zone = ZoneInfo("Pacific/Auckland")
    evening = dt.datetime(2026, 1, 5, 20, 45, tzinfo=zone)
    morning = dt.datetime(2026, 1, 5, 6, 15, tzinfo=zone)
    assert light_at(evening, longitude=174.8, latitude=-41.3).phase == "dusk"
    assert light_at(morning, longitude=174.8, latitude=-41.3).phase == "dawn"


def test_a_moment_is_the_same_whatever_zone_it_is_told_in():
    summer = dt.datetime(2026, 7, 4, 20, 30, tzinfo=LONDON)
    utc = dt.datetime(2026, 7, 4, 19, 30, tzinfo=dt.UTC)
    assert light_at(summer, longitude=0.9, latitude=53.3).sun_deg == pytest.approx(
        light_at(utc, longitude=0.9, latitude=53.3).sun_deg
    )


def test_a_midsummer_night_that_never_gets_dark_has_no_last_light():
    """At 62° N the sun stays above -6° at midsummer: 90 - 62 - 23.4 = 4.6° below."""
    noon = dt.datetime(2026, 6, 21, 12, tzinfo=dt.UTC)
    light = light_at(noon, longitude=0.0, latitude=62.0)
    assert light.last_light is None
    assert light.sunset is not None


def test_a_polar_winter_day_has_no_sunrise():
    noon = dt.datetime(2026, 12, 21, 12, tzinfo=dt.UTC)
    assert light_at(noon, longitude=0.0, latitude=69.0).sunrise is None


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(PegError, match="has no zone"):
        light_at(dt.datetime(2026, 6, 16, 12), longitude=0.0, latitude=51.5)  # noqa: DTZ001 - the fault under test
