"""The light at the river: the sun's height above it at a moment; astral's only home."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pegscore.errors import PegError

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

DARK_BELOW_DEG = -6.0
"""Darkness: the sun's centre this far below the horizon, the published end of civil
twilight."""

LOW_BELOW_DEG = 6.0
"""From the end of darkness to here is called dawn or dusk; our proposal."""

PHASES = ("dawn", "day", "dusk", "night")
"""What a moment's light is called."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """The light at one place and moment.

    Parameters
    ----------
    moment : datetime.datetime
        With its zone; all other times are in the same zone and on its day.
    sun_deg : float
        Height of the sun's centre above a level horizon, degrees, without the air's
        refraction; hills and trees are not known.
    phase : str
        One of ``PHASES``: ``night`` below -6°, ``dawn`` or ``dusk`` up to +6°.
    first_light, sunrise, sunset, last_light : datetime.datetime or None
        Beginning of civil twilight, sunrise, sunset, end of civil twilight; None
        where there is none on that day.
    """

    moment: dt.datetime
    sun_deg: float
    phase: str
    first_light: dt.datetime | None
    sunrise: dt.datetime | None
    sunset: dt.datetime | None
    last_light: dt.datetime | None


def light_at(moment: dt.datetime, *, longitude: float, latitude: float) -> Light:
    """Return the light at a place, WGS 84 degrees, and a moment.

    Raises
    ------
    PegError
        If the moment has no zone, so that it is not known when it is.

    Examples
    --------
    >>> import datetime as dt
    >>> noon = dt.datetime(2026, 6, 21, 12, tzinfo=dt.timezone.utc)
    >>> light_at(noon, longitude=0.0, latitude=51.5).phase
    'day'
    """
    if moment.tzinfo is None:
        message = f"{moment.isoformat()} has no zone; give one, e.g. Europe/London"
        raise PegError(message)
    from astral import Observer, sun  # noqa: PLC0415 - slow to load, rarely needed

    seat = Observer(latitude=latitude, longitude=longitude, elevation=0.0)

    def at(event: Callable[..., dt.datetime]) -> dt.datetime | None:
        try:
            return event(seat, date=moment.date(), tzinfo=moment.tzinfo)
        except ValueError:  # the sun does not reach that height on this day
            return None

    height_deg = float(sun.elevation(seat, moment, with_refraction=False))
    sinking = float(sun.azimuth(seat, moment)) > 180.0  # noqa: PLR2004 - half a turn
    return Light(
        moment=moment,
        sun_deg=height_deg,
        phase=_phase(height_deg, sinking=sinking),
        first_light=at(sun.dawn),
        sunrise=at(sun.sunrise),
        sunset=at(sun.sunset),
        last_light=at(sun.dusk),
    )


def _phase(height_deg: float, *, sinking: bool) -> str:
    if height_deg < DARK_BELOW_DEG:
        return "night"
    if height_deg >= LOW_BELOW_DEG:
        return "day"
    return "dusk" if sinking else "dawn"
