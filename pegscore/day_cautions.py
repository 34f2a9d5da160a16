"""What the day asks of whoever goes: light, wind, cold and high water.

Usual caution, in plain words; none of it changes a score, and local rules come first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt

    from pegscore.conditions import Conditions
    from pegscore.daylight import Light

STRONG_WIND_M_S = 10.8
"""Beaufort 6, a strong breeze: umbrellas are hard to hold (World Meteorological
Organization's scale, from memory)."""

GALE_M_S = 17.2
"""Beaufort 8, a gale: twigs break off trees (the same scale, from memory)."""

COLD_SHOCK_C = 15.0
"""Below it falling in takes the breath (common water-safety advice, from memory)."""

NIGHT = (
    "Dark: only where the club allows night fishing. Do not fish alone; tell somebody "
    "where you are and when you will be back; know your way off the bank by lamp."
)
DUSK = (
    "The light is going: clear the way off the bank while you can see it, carry a lamp "
    "and do not fish on alone."
)
DAWN = "Poor light until sunrise: take a lamp, and look up for lines before you set up."
STRONG_WIND = (
    "Strong wind: poles and umbrellas are hard to hold; keep further still from "
    "overhead lines."
)
GALE = (
    "Gale: branches and trees come down. Do not sit under trees; better stay at home."
)
COLD = (
    "Water this cold takes the breath of whoever falls in: wear a lifejacket and do "
    "not fish alone."
)
HIGH_WATER = (
    "High water: banks and pegs can be under water or undercut, and it can still rise. "
    "Keep off steep and soft banks and leave a way back."
)


def day_cautions(conditions: Conditions) -> tuple[str, ...]:
    """Return the day's cautions, gravest first; empty where nothing was told.

    Examples
    --------
    >>> from pegscore.conditions import Conditions
    >>> day_cautions(Conditions(level_m=0.6, wind_m_s=12.0))[0][:12]
    'Strong wind:'
    """
    light, wind = conditions.light, conditions.wind_m_s or 0.0
    phase = "" if light is None else light.phase
    cold_c = conditions.water_temp_c
    told = {
        HIGH_WATER: conditions.high_water,
        GALE: wind >= GALE_M_S,
        STRONG_WIND: STRONG_WIND_M_S <= wind < GALE_M_S,
        NIGHT: phase == "night",
        DUSK: phase == "dusk",
        DAWN: phase == "dawn",
        COLD: cold_c is not None and cold_c < COLD_SHOCK_C,
    }
    return tuple(text for text, holds in told.items() if holds)


def light_text(light: Light) -> str:
    """Say how high the sun stands and when light and dark begin.

    Hills and trees are not known: a wooded bank is dark sooner.
    """
    side = "above" if light.sun_deg >= 0 else "below"
    named = {
        "first light": light.first_light,
        "sunrise": light.sunrise,
        "sunset": light.sunset,
        "dark from": light.last_light,
    }
    times = [f"{word} {_clock(time)}" for word, time in named.items() if time]
    return (
        f"Light: {light.phase} at {_clock(light.moment)} ({_zone(light.moment)}), the "
        f"sun {abs(light.sun_deg):.0f}° {side} the horizon; "
        f"{', '.join(times) or 'it neither rises nor sets'}."
    )


def _clock(moment: dt.datetime) -> str:
    return f"{moment:%H:%M}"


def _zone(moment: dt.datetime) -> str:
    """Name the zone where it has a name, and always how far it is from UTC."""
    text, name = f"{moment:%z}", getattr(moment.tzinfo, "key", "")
    offset = f"UTC{text[:3]}:{text[3:5]}"
    return f"{name}, {offset}" if name else offset
