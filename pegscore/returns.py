"""Catch returns as visits: what was fished, where, for how long, and what came of it.

The survey's reader gives one row a visit and species. Here they become one row a
visit and one column a species, with blanks as zeros, because a visit without fish
is as much a finding as one with. What cannot be used is left out and counted, so
that nothing disappears unseen. Anglers' keys stay in memory: no note names one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pegscore.errors import ReturnsRefused

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from numpy.typing import NDArray

SHORTEST_H, LONGEST_H = 0.25, 24.0
"""Hours at a peg that a return can mean; our proposal."""

HALF_LIFE_YEARS = 4.0
"""After this long a return weighs half.

Our proposal: on simulated clubs two years threw away too much.
"""

SEASON_MONTH = 4
"""The month in which an angling year begins here; our proposal.

It falls between the coarse fish seasons, so that no season is cut in two.
"""

DAYS_A_YEAR = 365.25
NEEDED = ("visit", "date", "peg", "hours", "species", "count")
TEXTS = ("angler", "method", "bait", "target")
NUMBERS = ("level_m", "water_c")
DAY_WORDS = {"level_m": "level", "water_c": "water temperature"}
"""What is one for the whole river on a day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visits:
    """Cleaned returns.

    ``table`` has one row a visit (index the visit's key): ``date``, ``season`` (the
    year in which the angling year began), ``peg``, ``hours``, the texts ``angler``,
    ``method``, ``bait``, ``target`` in lower case (``""`` where not told), ``level_m``
    and ``water_c`` (the day's median where a visit does not tell it but others of that
    day do, else ``NaN``). ``counts`` has the same rows and a column
    a species; a species that a visit does not name was not caught: 0. ``notes`` say
    what was left out, and why.
    """

    table: pd.DataFrame
    counts: pd.DataFrame
    notes: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.table)

    def caught(self, species: str) -> pd.Series:
        """Return the fish of one species a visit; zeros if nobody ever caught it."""
        if species in self.counts:
            return self.counts[species]
        return pd.Series(0.0, index=self.table.index, name=species)

    def aim(self, species: str) -> pd.Series:
        """Say what each visit was after: ``this`` species, ``other`` or ``""``."""
        told = self.table["target"]
        aim = pd.Series("other", index=told.index).mask(told == "", "")
        return aim.mask(told == species, "this")


def read_visits(
    returns: pd.DataFrame,
    *,
    pegs: Iterable[str] | None = None,
    renamed: Mapping[str, str] | None = None,
) -> Visits:
    """Turn the survey's returns into cleaned visits.

    Parameters
    ----------
    returns : DataFrame
        ``Survey.returns``: one row a visit and species.
    pegs : iterable of str, optional
        The pegs there are; visits to any other are left out and counted.
    renamed : mapping of str to str, optional
        Old peg names and the names they have now.

    Returns
    -------
    Visits

    Raises
    ------
    ReturnsRefused
        If a needed column is missing.

    Examples
    --------
    >>> rows = pd.DataFrame({
    ...     "visit": ["1", "1", "2"], "date": pd.to_datetime(["2024-06-20"] * 3),
    ...     "peg": ["7", "7", "8"], "hours": [4.0, 4.0, 5.0],
    ...     "species": ["chub", "roach", ""], "count": [2, 5, 0]})
    >>> read_visits(rows).counts.to_numpy().tolist()
    [[2.0, 5.0], [0.0, 0.0]]
    """
    missing = [name for name in NEEDED if name not in returns]
    if missing:
        message = (
            f"the returns have no column {missing[0]!r}; read them with "
            "layers.read_survey"
        )
        raise ReturnsRefused(message)
    rows = returns.assign(
        species=_plain(returns["species"]),
        peg=returns["peg"].astype(str).replace(dict(renamed or {})),
        count=returns["count"].astype(float),
    )
    notes: list[str] = []
    rows = _possible(rows, notes)
    if pegs is not None:
        known = rows["peg"].isin([str(peg) for peg in pegs])
        rows = _kept(rows, known, notes, "visits to no known peg")
    table, counts = _day_filled(_table(rows), notes), _counts(rows)
    once = ~_handed_in_twice(table, counts)
    if not once.all():
        notes.append(f"{(~once).sum()} visits handed in twice were counted once")
    return Visits(table=table[once], counts=counts[once], notes=tuple(notes))


def age_weight(
    dates: pd.Series, *, today: date, half_life_years: float = HALF_LIFE_YEARS
) -> NDArray[np.float64]:
    """Return what each return still weighs: 1 today, half after a half-life.

    Examples
    --------
    >>> from datetime import date
    >>> days = pd.Series(pd.to_datetime(["2024-06-16", "2020-06-16"]))
    >>> age_weight(days, today=date(2024, 6, 16)).round(3).tolist()
    [1.0, 0.5]
    """
    days = (pd.Timestamp(today) - dates).dt.days.to_numpy(np.float64)
    years = np.maximum(days, 0.0) / DAYS_A_YEAR
    weight: NDArray[np.float64] = 0.5 ** (years / half_life_years)
    return weight


def _plain(texts: pd.Series) -> pd.Series:
    return texts.fillna("").astype(str).str.strip().str.lower()


def _possible(rows: pd.DataFrame, notes: list[str]) -> pd.DataFrame:
    """Leave out whole visits that cannot be true; a missing count is no zero."""
    hours = rows["hours"].astype(float)
    rules = (
        (hours.between(SHORTEST_H, LONGEST_H), "visits of impossible hours"),
        (rows["count"] >= 0, "visits with a count missing or below zero"),
        (rows["date"].notna(), "visits without a date"),
    )
    for good, what in rules:
        rows = _kept(rows, good.reindex(rows.index), notes, what)
    return rows


def _kept(
    rows: pd.DataFrame, good: pd.Series, notes: list[str], what: str
) -> pd.DataFrame:
    """Keep the visits all of whose rows are good."""
    bad = rows.loc[~good, "visit"].unique()
    if len(bad):
        notes.append(f"{len(bad)} {what} were left out")
    return rows[~rows["visit"].isin(bad)]


def _table(rows: pd.DataFrame) -> pd.DataFrame:
    first = rows.drop_duplicates("visit").set_index("visit")
    table = first[["date", "peg", "hours"]].copy()
    moments = pd.to_datetime(table["date"])
    table["date"] = moments.dt.tz_localize(None).dt.normalize()
    table["hours"] = table["hours"].astype(float)
    early = (table["date"].dt.month < SEASON_MONTH).astype(int)
    table["season"] = table["date"].dt.year - early
    for name in TEXTS:
        table[name] = _plain(first[name]) if name in first else ""
    for name in NUMBERS:
        table[name] = first[name].astype(float) if name in first else np.nan
    return table


def _day_filled(table: pd.DataFrame, notes: list[str]) -> pd.DataFrame:
    """Give a visit without level or temperature what others told of the same day.

    The median of the day's visits that tell it: one river, one board.
    """
    for name, word in DAY_WORDS.items():
        missing = table[name].isna()
        told = table.groupby("date")[name].transform("median")
        filled = missing & told.notna()
        table[name] = table[name].fillna(told)
        if filled.any():
            notes.append(
                f"{filled.sum()} visits took their {word} from others of the same day"
            )
    return table


def _counts(rows: pd.DataFrame) -> pd.DataFrame:
    order = rows["visit"].drop_duplicates()
    wide = rows.pivot_table(
        index="visit", columns="species", values="count", aggfunc="sum", fill_value=0.0
    )
    wide = wide.reindex(order).drop(columns="", errors="ignore").astype(float)
    return wide.rename_axis(columns=None)


def _handed_in_twice(table: pd.DataFrame, counts: pd.DataFrame) -> pd.Series:
    """Find a second return of the same angler, day, peg, hours and catch.

    Without an angler two equal returns may well be two anglers' and both stay;
    so do two equal blanks of one day, which say nothing different when counted
    once but are as likely a morning and an evening.
    """
    same = ["angler", "date", "peg", "hours"]
    both = table[same].join(counts)
    caught = counts.sum(axis="columns") > 0
    return both.duplicated() & (table["angler"] != "") & caught
