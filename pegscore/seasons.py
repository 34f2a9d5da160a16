"""Closed days: whether a day is one, who set them, and when they end."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from pegscore.wording import day_text, one_line

if TYPE_CHECKING:
    import geopandas as gpd

    from layers.river import Season
    from pegscore.species import Species

    Days = tuple[tuple[int, int], tuple[int, int]]

LONGEST_DAYS = 366
"""A season that is still closed this many days on is closed all year."""


def in_force(place: object, date: dt.date | None) -> bool:
    """Say whether a place counts on a day; without its days or a day it always does.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> winter = SimpleNamespace(from_day="11-01", to_day="02-28")
    >>> [in_force(winter, dt.date(2026, month, 1)) for month in (1, 7, 12)]
    [True, False, True]
    >>> in_force(winter, None)
    True
    """
    days = (one_line(getattr(place, name, None)) for name in ("from_day", "to_day"))
    first, last = days
    if date is None or not (first and last):
        return True
    today = f"{date:%m-%d}"
    if first > last:
        return today >= first or today <= last
    return first <= today <= last


def allowing(
    places: gpd.GeoDataFrame | None, date: dt.date | None
) -> gpd.GeoDataFrame | None:
    """Return the places without the no-fishing ones that are not in force on a day."""
    if places is None or date is None:
        return places
    kept = [
        place.kind != "no_fishing" or in_force(place, date)
        for place in places.itertuples()
    ]
    return places[kept]


def closed_on(
    species: Species, season: Season | None, date: dt.date | None
) -> tuple[bool, dt.date | None]:
    """Return whether a day is closed for a species, and the first open day after it.

    Parameters
    ----------
    species : Species
        Its default closed days.
    season : Season or None
        The club's own, which replace the default.
    date : datetime.date or None
        The day; nothing is closed on a day that is not known.

    Returns
    -------
    closed : bool
    opens : datetime.date or None
        None if it is open, or never opens.
    """
    days = _closed_days(species, season)
    if days is None or date is None or not _is_closed(date, days):
        return False, None
    return True, _opens(date, days)


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


def closed_text(opens: dt.date | None) -> str:
    """Say that a day is closed, and when the season opens."""
    if opens is None:
        return "closed all year; local byelaws come first"
    last, first = opens - dt.timedelta(days=1), day_text((opens.month, opens.day))
    return (
        f"closed season until {day_text((last.month, last.day))} inclusive; "
        f"opens {first} {opens.year}; local byelaws come first"
    )


def season_notes(
    species: Species, season: Season | None, date: dt.date | None
) -> list[str]:
    """Return the closed days, and whether the club leaves open what is usually shut."""
    notes = [season_text(species, season)]
    if date is None:
        return [*notes, "No date given, so the closed days were not checked."]
    usual, days = species.season_closed, _closed_days(species, season)
    if usual and days and _is_closed(date, usual) and not _is_closed(date, days):
        name = one_line(species.title).lower()
        notes.append(
            "The club's days leave this one open, but the default for "
            f"{name} is closed {_days_text(usual)}: check the byelaws."
        )
    return notes


def _days_text(days: Days) -> str:
    return f"{day_text(days[0])} to {day_text(days[1])} inclusive"
