"""The day: its level, date, light and water, and whether anybody should fish.

Conditions act after the score, never inside it: a closed season, hot water, thin
oxygen and flood are vetoes with their message; temperature, oxygen, light and clarity
are factors shown beside the score.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from layers.measured import NEAR_M
from pegscore.errors import PegError
from pegscore.modifiers import CLARITIES, holding
from pegscore.oxygen import MOST_MG_L
from pegscore.seasons import closed_on, closed_text, season_notes
from pegscore.welfare import feeding, heat, oxygen, plain_name
from pegscore.wording import one_line

if TYPE_CHECKING:
    import datetime as dt

    from layers.river import Season
    from pegscore.daylight import Light
    from pegscore.modifiers import Modifier
    from pegscore.species import Species

COLDEST_C, HOTTEST_C = -1.0, 40.0
"""Water outside these is taken for a slip (or another unit)."""

STRONGEST_WIND_M_S = 60.0
"""No wind above this is meant in metres a second; our proposal."""

FLOOD_M = 0.5
"""A board this far above every level measured is called a flood: what a swim is like
is not known and the pegs may be under water. Our own proposal, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is known of the day.

    Parameters
    ----------
    level_m : float
        The reading of the gauge board, metres.
    date : datetime.date, optional
        The day of fishing.
    water_temp_c : float, optional
        Water temperature, °C.
    method : str, default='float'
        How the swim is fished (``pegscore.reach.METHODS``).
    light : Light, optional
        The light at the river, ``pegscore.daylight.light_at``.
    clarity : {'', 'clear', 'tinged', 'coloured'}
        How far one sees into the water; empty where nobody looked.
    wind_m_s : float, optional
        Speed of the wind; it never changes a score.
    oxygen_mg_l : float, optional
        Dissolved oxygen as measured.
    above_measured_m : float, default=0
        How far the board stands above every level at which anything was measured.

    Raises
    ------
    PegError
        If the level is not a number or another value cannot be meant.
    """

    level_m: float
    date: dt.date | None = None
    water_temp_c: float | None = None
    method: str = "float"
    light: Light | None = None
    clarity: str = ""
    wind_m_s: float | None = None
    oxygen_mg_l: float | None = None
    above_measured_m: float = 0.0

    def __post_init__(self) -> None:
        if not math.isfinite(self.level_m):
            message = f"level {self.level_m} is not a number; give metres, e.g. 0.6"
            raise PegError(message)
        temp = self.water_temp_c
        if temp is not None and not COLDEST_C <= temp <= HOTTEST_C:
            message = (
                f"water of {temp} °C cannot be fished; give degrees Celsius between "
                f"{COLDEST_C:g} and {HOTTEST_C:g}"
            )
            raise PegError(message)
        _check_more(self)

    @property
    def high_water(self) -> bool:
        """Whether the board stands above every level that was measured."""
        return self.above_measured_m > NEAR_M


def _check_more(day: Conditions) -> None:
    if day.clarity and day.clarity not in CLARITIES:
        message = f"clarity {day.clarity!r} is not known; use {', '.join(CLARITIES)}"
        raise PegError(message)
    wind, oxygen_mg_l = day.wind_m_s, day.oxygen_mg_l
    if wind is not None and not 0 <= wind <= STRONGEST_WIND_M_S:
        message = (
            f"wind of {wind} m/s cannot be meant; give metres a second, 0 to "
            f"{STRONGEST_WIND_M_S:g}"
        )
        raise PegError(message)
    if oxygen_mg_l is not None and not 0 <= oxygen_mg_l <= MOST_MG_L:
        message = (
            f"oxygen of {oxygen_mg_l} mg/l cannot be meant; give milligrams a litre, 0 "
            f"to {MOST_MG_L:g}, not per cent"
        )
        raise PegError(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a species may be fished for, and what else to know.

    ``vetoes`` are reasons not to fish at all; ``opens`` is the first open day of
    a closed season, None if that never comes. ``temperature_factor`` in [0, 1] is the
    feeding curve at the water's temperature, ``NaN`` if that is not given or if hot
    water is a veto; it never enters the score. ``day_factor`` is the product of what
    the day does to every peg alike, 1 where nothing is known, and ``day_why`` names
    each part of it.
    """

    closed: bool
    opens: dt.date | None
    vetoes: tuple[str, ...]
    notes: tuple[str, ...]
    temperature_factor: float
    day_factor: float = 1.0
    day_why: tuple[str, ...] = ()


def verdict(species: Species, conditions: Conditions, season: Season | None) -> Verdict:
    """Judge a day for a species.

    Parameters
    ----------
    species : Species
        Its default close season, its limits and what the day does to it.
    conditions : Conditions
        The day.
    season : Season or None
        The club's own closed days; they replace the species' default.
    """
    closed, opens = closed_on(species, season, conditions.date)
    hot, notes = heat(species, conditions.water_temp_c)
    appetite, told = feeding(species, None if hot else conditions.water_temp_c)
    thin, airy, breath = oxygen(species, conditions)
    held = holding(species.modifiers, conditions)
    parts = _parts(conditions, appetite, breath, held)
    shut = [closed_text(opens)] if closed else []
    vetoes = (*shut, *hot, *thin, *_flood(conditions))
    how = [*told, *map(_sentence, held), *_no_hour(species, conditions)]
    return Verdict(
        closed=closed,
        opens=opens,
        vetoes=vetoes,
        notes=(
            *season_notes(species, season, conditions.date),
            *(*notes, *airy),
            *([] if vetoes else how),  # no hint how to catch what is to be left alone
        ),
        temperature_factor=appetite,
        day_factor=math.prod(parts.values()),
        day_why=tuple(
            f"{name} ×{factor:.2f}" for name, factor in parts.items() if factor != 1
        ),
    )


def _parts(
    conditions: Conditions, appetite: float, breath: float, held: tuple[Modifier, ...]
) -> dict[str, float]:
    """Name each factor that is the same for every peg; what is unknown is left out."""
    parts = {}
    if not math.isnan(appetite):
        parts[f"water at {conditions.water_temp_c:g} °C"] = appetite
    if not math.isnan(breath):
        parts[f"oxygen {conditions.oxygen_mg_l:g} mg/l"] = breath
    for each in held:
        if each.for_every_peg != 1:
            name = f"{conditions.clarity} water" if each.clarity else "light"
            parts[name] = parts.get(name, 1.0) * each.for_every_peg
    return parts


def _sentence(modifier: Modifier) -> str:
    """Tell a modifier's note, with the marks of its numbers."""
    marks = f" (marks {modifier.marks})" if modifier.marks else ""
    note = one_line(modifier.note).rstrip(".")
    return f"{note[:1].upper()}{note[1:]}{marks}."


def _no_hour(species: Species, conditions: Conditions) -> list[str]:
    """Say that the light was not asked, where it makes a difference."""
    if conditions.light is not None or not any(
        each.light and each.points for each in species.modifiers
    ):
        return []
    name = plain_name(species)
    return [f"No hour given, so what the light does to {name} was left out."]


def is_flood(above_measured_m: float) -> bool:
    """Say whether a board so far above every level measured is called a flood."""
    return above_measured_m > FLOOD_M


def _flood(conditions: Conditions) -> list[str]:
    above_m = conditions.above_measured_m
    if not is_flood(above_m):
        return []
    veto = (
        f"the board at {conditions.level_m:.2f} m is {above_m:.2f} m above anything "
        "measured here: a flood, in which pegs can lie under water and nothing is "
        "known of the swims; stay away from the edge"
    )
    return [veto]
