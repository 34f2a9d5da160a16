"""The day: its level, date and water, and whether anybody should fish.

Conditions act after the score, never inside it: a closed season and hot water
are vetoes with their message; temperature is a note beside the answer.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pegscore.errors import PegError

if TYPE_CHECKING:
    from layers.river import Season
    from pegscore.species import Species

    MonthDay = tuple[int, int]

COLDEST_C, HOTTEST_C = -1.0, 40.0
"""Water outside these is taken for a slip (or another unit)."""

LEAP_YEAR = 2024
"""A year in which every month-day exists, for writing days without a year."""


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

    Raises
    ------
    PegError
        If the level is not a number or the water could not be liquid.
    """

    level_m: float
    date: dt.date | None = None
    water_temp_c: float | None = None
    method: str = "float"

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a species may be fished for, and what else to know.

    ``vetoes`` are reasons not to fish at all; ``opens`` is the first open day of
    a closed season. ``temperature_factor`` in [0, 1] is the feeding curve at the
    water's temperature, ``NaN`` if that is not given; it never enters the score.
    """

    closed: bool
    opens: dt.date | None
    vetoes: tuple[str, ...]
    notes: tuple[str, ...]
    temperature_factor: float


def verdict(species: Species, conditions: Conditions, season: Season | None) -> Verdict:
    """Judge a day for a species.

    Parameters
    ----------
    species : Species
        Its default close season and its limits.
    conditions : Conditions
        The day.
    season : Season or None
        The club's own closed days; they replace the species' default.
    """
    closed_days = _closed_days(species, season)
    opens = _opens(conditions.date, closed_days)
    vetoes, notes = _heat(species, conditions.water_temp_c)
    if opens is not None and closed_days is not None:
        last = opens - dt.timedelta(days=1)
        vetoes.insert(
            0,
            f"closed season until {_written(last)} inclusive; opens {_written(opens)} "
            f"{opens.year}",
        )
    elif conditions.date is None or closed_days is None:
        notes.append(season_text(species, season))
    factor = math.nan
    if conditions.water_temp_c is not None and species.temperature_c is not None:
        factor = float(species.temperature_c(conditions.water_temp_c))
        notes.append(
            f"Water at {conditions.water_temp_c:g} °C: feeding about {factor:.2f} of "
            "its best by the species file; not part of the score."
        )
    return Verdict(
        closed=opens is not None,
        opens=opens,
        vetoes=tuple(vetoes),
        notes=tuple(notes),
        temperature_factor=factor,
    )


def season_text(species: Species, season: Season | None) -> str:
    """Return one sentence on the closed days and who set them.

    Examples
    --------
    >>> from pegscore.species import read_species
    >>> print(season_text(read_species()["barbel"], None))
    Closed 15 March to 15 June inclusive. Default for rivers in England and Wales;
    local byelaws differ and come first.
    """
    days = _closed_days(species, season)
    note = season.note if season is not None else species.season_note
    if days is None:
        return note or "Closed days not known: ask locally."
    first, last = (_written(dt.date(LEAP_YEAR, *day)) for day in days)
    note = note or "Check the local byelaws."
    return f"Closed {first} to {last} inclusive. {note}"


def _closed_days(
    species: Species, season: Season | None
) -> tuple[MonthDay, MonthDay] | None:
    if season is not None:
        return season.first_closed, season.last_closed
    return species.season_closed


def _opens(
    date: dt.date | None, days: tuple[MonthDay, MonthDay] | None
) -> dt.date | None:
    """Return the first open day if ``date`` is closed, else None."""
    if date is None or days is None:
        return None
    first, last = days
    today = (date.month, date.day)
    wraps = first > last
    inside = today >= first or today <= last if wraps else first <= today <= last
    if not inside:
        return None
    year = date.year + (1 if wraps and today >= first else 0)
    return _day(year, last) + dt.timedelta(days=1)


def _day(year: int, day: MonthDay) -> dt.date:
    """Return a month-day in a year; 29 February falls back to the 28th."""
    try:
        return dt.date(year, *day)
    except ValueError:
        return dt.date(year, day[0], 28)


def _heat(species: Species, temp_c: float | None) -> tuple[list[str], list[str]]:
    """Return vetoes and notes of hot water; strictly above the limit."""
    if temp_c is None or not temp_c > species.hot_above_c:
        return [], []
    name = species.title.lower()
    if species.hot_is_veto:
        return [
            (
                f"water at {temp_c:g} °C: published advice is not to fish for {name} "
                f"above {species.hot_above_c:g} °C, they do not recover well "
                "(Environment Agency advice as reported in 2020)"
            )
        ], []
    return [], [
        (
            f"Water at {temp_c:g} °C is above {species.hot_above_c:g} °C, where {name} "
            "suffer (from memory of published limits): better not to fish for them."
        )
    ]


def _written(day: dt.date) -> str:
    return f"{day.day} {day:%B}"
