"""How a club fished: hours by peg and by month, and what its returns leave out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pegscore.catches import FEWEST_ANGLERS, FEWEST_VISITS, catch_rates
from pegscore.tiers import tiers

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from pegscore.returns import Visits

TOLD = {
    "angler": "angler",
    "water_c": "water temperature",
    "level_m": "level",
    "target": "what was fished for",
}
"""What makes a return worth more, and what it is called."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What a club's returns hold, before anything is fitted to them.

    Parameters
    ----------
    by_peg, by_month : DataFrame, index peg in the club's order, and month 1 to 12
        ``visits`` and ``hours``, 0 where nobody fished and ``NaN`` where fewer visits
        or anglers stand behind them than may be told of.
    visits, blanks : int
        A blank is a visit without any fish of any species.
    span : tuple of str
        The first and the last day, as ``2024-06-16``; empty without visits.
    told : dict of str to float
        Share of the visits that tell each thing of ``TOLD``.
    notes : tuple of str
        What was left out in cleaning and why.
    """

    by_peg: pd.DataFrame
    by_month: pd.DataFrame
    visits: int
    blanks: int
    span: tuple[str, str]
    told: dict[str, float]
    notes: tuple[str, ...]


def effort(visits: Visits, pegs: Sequence[str]) -> Effort:
    """Return how the pegs were fished; those nobody fished are there with zeros.

    Examples
    --------
    >>> import pandas as pd
    >>> from pegscore.returns import read_visits
    >>> rows = pd.DataFrame({
    ...     "visit": list("12345"), "date": pd.to_datetime(["2024-06-20"] * 5),
    ...     "peg": ["7"] * 5, "hours": [4.0] * 5, "species": ["chub"] + [""] * 4,
    ...     "count": [2, 0, 0, 0, 0], "angler": list("abcab")})
    >>> found = effort(read_visits(rows), ["7", "8"])
    >>> found.by_peg["hours"].tolist(), found.blanks
    ([20.0, 0.0], 4)
    """
    table = visits.table
    days = table["date"].dt.strftime("%Y-%m-%d")
    return Effort(
        by_peg=_sums(table, table["peg"], list(pegs)),
        by_month=_sums(table, table["date"].dt.month, list(range(1, 13))),
        visits=len(table),
        blanks=int((visits.counts.sum(axis="columns") == 0).sum()),
        span=(days.min(), days.max()) if len(table) else ("", ""),
        told={word: _share_told(table[name]) for name, word in TOLD.items()},
        notes=visits.notes,
    )


def told_apart(visits: Visits, species: str) -> pd.DataFrame:
    """Return the pegs that may be told of, best first, in tiers.

    Returns
    -------
    DataFrame, index peg
        As ``pegscore.catches.catch_rates``, and ``tier``: pegs whose 80 % intervals
        overlap that of the best of their tier cannot be told apart by the returns.
    """
    rates = catch_rates(visits, species).dropna(subset="per_hour")
    rates = rates.sort_values("per_hour", ascending=False, kind="stable")
    return rates.assign(tier=tiers(rates["per_hour"], rates["low"], rates["high"]))


def _sums(
    table: pd.DataFrame, by: pd.Series, index: list[str] | list[int]
) -> pd.DataFrame:
    """Return visits and hours by peg or month, blanked where they tell of a person."""
    named = table["angler"].where(table["angler"] != "")
    grouped = table.assign(angler=named).groupby(by.to_numpy())
    sums = grouped.agg(visits=("hours", "size"), hours=("hours", "sum"))
    anglers = grouped["angler"].nunique()
    few = (sums["visits"] < FEWEST_VISITS) | (anglers < FEWEST_ANGLERS)
    shown = sums.astype(float).mask(few, axis=0)
    found = shown.reindex(index)
    unfished = ~found.index.isin(sums.index)
    found.loc[unfished] = 0.0
    return found


def _share_told(values: pd.Series) -> float:
    known = values.notna() & (values.astype(str) != "")
    return float(known.mean()) if len(values) else np.nan
