"""Every caution of the day, and the day that needs none."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from pegscore import day_cautions as said
from pegscore.conditions import Conditions
from pegscore.day_cautions import day_cautions, light_text
from pegscore.daylight import light_at

LONDON = ZoneInfo("Europe/London")


def june(hour: int, minute: int = 0):
    moment = dt.datetime(2026, 6, 16, hour, minute, tzinfo=LONDON)
    return light_at(moment, longitude=0.0, latitude=51.5)


@pytest.mark.parametrize(
    ("known", "caution"),
    [
        ({"light": june(23, 30)}, said.NIGHT),
        ({"light": june(21, 30)}, said.DUSK),
        ({"light": june(4, 20)}, said.DAWN),
        ({"wind_m_s": 10.8}, said.STRONG_WIND),
        ({"wind_m_s": 17.2}, said.GALE),
        ({"water_temp_c": 14.9}, said.COLD),
        ({"above_measured_m": 0.06}, said.HIGH_WATER),
    ],
)
def test_each_danger_of_the_day_gets_its_word(known, caution):
    assert day_cautions(Conditions(level_m=0.6, **known)) == (caution,)


@pytest.mark.parametrize(
    "known",
    [
        {},
        {"light": june(13)},
        {"wind_m_s": 10.7},
        {"water_temp_c": 15.0},
        {"above_measured_m": 0.05},  # the board's own ripple
    ],
)
def test_an_ordinary_day_gets_none(known):
    assert day_cautions(Conditions(level_m=0.6, **known)) == ()


def test_whoever_fishes_in_the_dark_is_told_not_to_be_alone():
    assert "Do not fish alone" in said.NIGHT
    assert "club allows" in said.NIGHT


def test_the_light_is_told_by_the_clock_on_the_bank():
    """London, 16 June: sunrise about 04:43, sunset about 21:19 summer time."""
    text = light_text(june(13))
    assert text.startswith("Light: day at 13:00 (Europe/London, UTC+01:00)")
    assert "sunrise 04:4" in text
    assert "sunset 21:" in text


def test_a_day_without_sun_says_so():
    noon = dt.datetime(2026, 12, 21, 12, tzinfo=dt.UTC)
    text = light_text(light_at(noon, longitude=0.0, latitude=80.0))
    assert "below the horizon; it neither rises nor sets" in text
