"""The sun at the river against another library and a printed table.

PyEphem computes the sun by VSOP87 (J. Meeus); ours comes from astral's shorter series.
The printed table is "Sunrise/Sunset, September" for Decorah, Iowa, of Luther College
(faculty.luther.edu/bernatzr/DecWx/Month09/Data/srssData_09.htm), after the U.S. Naval
Observatory's definitions: sunrise, sunset, begin and end of civil twilight.
"""

from __future__ import annotations

import datetime as dt
import math
from zoneinfo import ZoneInfo

import pytest

from pegscore.daylight import light_at

ephem = pytest.importorskip("ephem")

PLACES = [
    ("Europe/London", 0.9, 53.3),
    ("Europe/London", -4.0, 58.5),
    ("Pacific/Auckland", 174.8, -41.3),
    ("Pacific/Honolulu", -157.8, 21.3),
]
DAYS = [(3, 15), (6, 16), (10, 25), (12, 21)]
NEAR_S = 90.0
"""Nobody plans a day closer; near 60° N the sun crosses the horizon slowly, so
that 0.01° between the libraries are over a minute there in June."""


def events(zone: str, longitude: float, latitude: float, day: dt.date):
    """Return PyEphem's sunrise, sunset and end of civil twilight."""
    place = ephem.Observer()
    place.lat, place.lon, place.pressure = str(latitude), str(longitude), 0
    midnight = dt.datetime.combine(day, dt.time(), ZoneInfo(zone))
    place.date = midnight.astimezone(dt.UTC).replace(tzinfo=None)
    place.horizon = "-0:50"  # refraction 34' and the sun's half width 16'
    found = [
        place.next_rising(ephem.Sun(), use_center=True),
        place.next_setting(ephem.Sun(), use_center=True),
    ]
    place.horizon = "-6"
    found.append(place.next_setting(ephem.Sun(), use_center=True))
    return [each.datetime().replace(tzinfo=dt.UTC) for each in found]


@pytest.mark.parametrize(("zone", "longitude", "latitude"), PLACES)
@pytest.mark.parametrize(("month", "day"), DAYS)
def test_sunrise_and_sunset_agree_with_another_library(
    zone, longitude, latitude, month, day
):
    noon = dt.datetime(2026, month, day, 12, tzinfo=ZoneInfo(zone))
    light = light_at(noon, longitude=longitude, latitude=latitude)
    ours = [light.sunrise, light.sunset, light.last_light]
    for mine, theirs in zip(
        ours, events(zone, longitude, latitude, noon.date()), strict=True
    ):
        assert abs((mine - theirs).total_seconds()) < NEAR_S
        assert mine.date() == noon.date()


@pytest.mark.parametrize(("zone", "longitude", "latitude"), PLACES)
@pytest.mark.parametrize("hour", [0, 5, 9, 13, 18, 22])
def test_the_suns_height_agrees_with_another_library(zone, longitude, latitude, hour):
    moment = dt.datetime(2026, 9, 1, hour, 20, tzinfo=ZoneInfo(zone))
    place = ephem.Observer()
    place.lat, place.lon, place.pressure = str(latitude), str(longitude), 0
    place.date = moment.astimezone(dt.UTC).replace(tzinfo=None)
    theirs_deg = math.degrees(ephem.Sun(place).alt)
    light = light_at(moment, longitude=longitude, latitude=latitude)
    assert light.sun_deg == pytest.approx(theirs_deg, abs=0.05)  # astral's own series


@pytest.mark.parametrize(
    ("day", "printed"),
    [
        (1, ("06:02", "06:32", "19:41", "20:11")),
        (15, ("06:19", "06:47", "19:17", "19:45")),
        (30, ("06:36", "07:04", "18:49", "19:18")),
    ],
)
def test_twilight_sunrise_and_sunset_are_those_of_a_printed_table(day, printed):
    """The year is not printed; between years these times move by under a minute."""
    noon = dt.datetime(2026, 9, day, 12, tzinfo=ZoneInfo("America/Chicago"))
    light = light_at(noon, longitude=-91.79, latitude=43.30)
    ours = (light.first_light, light.sunrise, light.sunset, light.last_light)
    for mine, text in zip(ours, printed, strict=True):
        hour, minute = map(int, text.split(":"))
        theirs = mine.replace(hour=hour, minute=minute, second=0, microsecond=0)
        assert abs((mine - theirs).total_seconds()) <= 90.0  # rounding and the year
