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
from pegscore.wording import day_text, one_line

if TYPE_CHECKING:
    from layers.river import Season
    from pegscore.curves import Curve
    from pegscore.species import Species

    Days = tuple[tuple[int, int], tuple[int, int]]

COLDEST_C, HOTTEST_C = -1.0, 40.0
"""Water outside these is taken for a slip (or another unit)."""

ADVISED_AGAINST = {"barbel": 21.0, "chub": 21.0, "pike": 21.0}
"""Above which water, °C, these should not be fished for: Environment Agency
hot-weather guidance as reported by Angling Times, 2020 (``ea_hot``)."""

LONGEST_DAYS = 366
"""A season that is still closed this many days on is closed all year."""


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
    a closed season, None if that never comes. ``temperature_factor`` in [0, 1] is the
    feeding curve at the water's temperature, ``NaN`` if that is not given or if hot
    water is a veto; it never enters the score.
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
    days, date = _closed_days(species, season), conditions.date
    closed = days is not None and date is not None and _is_closed(date, days)
    opens = _opens(date, days) if closed and days and date else None
    hot, notes = _heat(species, conditions.water_temp_c)
    factor, feeding = _feeding(species, None if hot else conditions.water_temp_c)
    return Verdict(
        closed=closed,
        opens=opens,
        vetoes=(*([_closed_text(opens)] if closed else []), *hot),
        notes=(*_season_notes(species, season, date), *notes, *feeding),
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
    note = one_line(season.note if season is not None else species.season_note)
    if days is None:
        return note or "Closed days not known: ask locally."
    return f"Closed {_days_text(days)}. {note or 'Check the local byelaws.'}"


def _closed_days(species: Species, season: Season | None) -> Days | None:
    if season is not None:
        return season.first_closed, season.last_closed
    return species.season_closed


def _is_closed(date: dt.date, days: Days) -> bool:
    """Say whether a day lies in closed days, both ends included, over new year too."""
    first, last = days
    today = (date.month, date.day)
    if first > last:
        return today >= first or today <= last
    return first <= today <= last


def _opens(date: dt.date, days: Days) -> dt.date | None:
    """Return the first open day after a closed one, None if there is none."""
    ahead = (date + dt.timedelta(days=count) for count in range(1, LONGEST_DAYS + 1))
    return next((day for day in ahead if not _is_closed(day, days)), None)


def _closed_text(opens: dt.date | None) -> str:
    if opens is None:
        return "closed all year; local byelaws come first"
    last, first = opens - dt.timedelta(days=1), day_text((opens.month, opens.day))
    return (
        f"closed season until {day_text((last.month, last.day))} inclusive; "
        f"opens {first} {opens.year}; local byelaws come first"
    )


def _season_notes(
    species: Species, season: Season | None, date: dt.date | None
) -> list[str]:
    """Return the closed days, and whether the club leaves open what is usually shut."""
    notes = [season_text(species, season)]
    if date is None:
        return [*notes, "No date given, so the closed days were not checked."]
    usual, days = species.season_closed, _closed_days(species, season)
    if usual and days and _is_closed(date, usual) and not _is_closed(date, days):
        notes.append(
            "The club's days leave this one open, but the default for "
            f"{_plain(species)} is closed {_days_text(usual)}: check the byelaws."
        )
    return notes


def _heat(species: Species, temp_c: float | None) -> tuple[list[str], list[str]]:
    """Return vetoes and notes of hot water; strictly above the limit."""
    limit_c, name = species.hot_above_c, _plain(species)
    if temp_c is None:
        unchecked = f"No water temperature given: {limit_c:g} °C, above which"
        told = f"{unchecked} {name} should be left alone, was not checked."
        return [], [] if math.isnan(limit_c) else [told]
    if not temp_c > limit_c:
        return [], []
    if species.hot_is_veto:
        veto = f"{_advice(species)}: do not fish for {name} above {limit_c:g} °C"
        return [f"{veto}; the water is at {temp_c:g} °C"], []
    note = (
        f"Water at {temp_c:g} °C is above {limit_c:g} °C, where {name} suffer (for the "
        "evidence see the mark in the species file): better not to fish for them."
    )
    return [], [note]


def _advice(species: Species) -> str:
    """Name who advises; a club's own limit is not put into the agency's mouth."""
    if ADVISED_AGAINST.get(species.name) == species.hot_above_c:
        return "Environment Agency advice as reported in 2020 [source ea_hot]"
    return "advice in the species file"


def _feeding(species: Species, temp_c: float | None) -> tuple[float, list[str]]:
    """Return the feeding curve's value and the note that tells it."""
    curve = species.temperature_c
    if temp_c is None or curve is None:
        return math.nan, []
    factor = float(curve(temp_c))
    note = (
        f"Water at {temp_c:g} °C: feeding suitability {factor:.2f} of 1 (marks "
        f"{', '.join(_marks_at(curve, temp_c))}); not part of the score."
    )
    return factor, [note]


def _marks_at(curve: Curve, x: float) -> list[str]:
    """Return the marks of the points that a value is drawn between."""
    below = [point for point in curve.points if point.x <= x]
    above = [point for point in curve.points if point.x >= x]
    return sorted({point.mark for point in (*below[-1:], *above[:1])})


def _days_text(days: Days) -> str:
    return f"{day_text(days[0])} to {day_text(days[1])} inclusive"


def _plain(species: Species) -> str:
    return one_line(species.title).lower()
