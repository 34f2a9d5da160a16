"""What a club's returns say by themselves: effort and catch per hour of each peg.

Catch per hour is a raw finding, not a verdict: pegs differ in who fished them and
when. Its interval says how little a few visits tell. Nothing is shown of a peg that
too few visits or anglers stand behind.

References
----------
Garwood 1936, Biometrika 28:437-442 (from memory): exact limits of a Poisson mean, as
quantiles of gamma distributions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.stats import gamma

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from pegscore.returns import Visits

    Values = NDArray[np.float64]

FEWEST_VISITS, FEWEST_ANGLERS = 5, 3
"""Below either nothing is told of a peg's catches; our proposal.

Statistics offices ask for 3, 5 or 10 contributors before they publish a cell.
"""

LARGEST_SHARE = 0.7
"""Nor where one angler fished more than this share of a peg's hours; our proposal."""


def rate_interval(
    count: ArrayLike, hours: ArrayLike, *, level: float = 0.8
) -> tuple[Values, Values]:
    """Return the exact interval of a catch rate, fish an hour.

    Parameters
    ----------
    count : array
        Fish caught.
    hours : array
        Hours fished, above zero; where it is not, both ends are ``NaN``.
    level : float, default=0.8
        How often such intervals hold the truth, at least, if fish come singly.

    Returns
    -------
    low, high : float64 array
        ``low`` is 0 where nothing was caught.

    Examples
    --------
    No fish in ten hours: even so the rate may be as high as log(10)/10:

    >>> low, high = rate_interval(0, 10.0)
    >>> float(low), round(float(high), 4)
    (0.0, 0.2303)
    """
    fish, time_h = np.asarray(count, np.float64), np.asarray(hours, np.float64)
    time_h = np.where(time_h > 0, time_h, np.nan)
    tail = (1.0 - level) / 2.0
    low = np.where(fish > 0, gamma.ppf(tail, np.maximum(fish, 1.0)), 0.0)
    high = gamma.ppf(1.0 - tail, fish + 1.0)
    return np.asarray(low / time_h), np.asarray(high / time_h)


def peg_effort(visits: Visits) -> pd.DataFrame:
    """Return visits, hours and anglers of each fished peg, index peg.

    ``anglers`` counts the anglers told; ``largest_share`` is the greatest share of
    the hours that one of them fished, ``NaN`` where no return names its angler.
    """
    table = visits.table
    by_peg = table.groupby("peg", sort=False)
    named = table[table["angler"] != ""]
    hours = named.groupby(["peg", "angler"])["hours"].sum()
    most = hours.groupby("peg").max() / named.groupby("peg")["hours"].sum()
    anglers = named.groupby("peg")["angler"].nunique()
    effort = pd.DataFrame({"visits": by_peg.size(), "hours": by_peg["hours"].sum()})
    effort["anglers"] = anglers.reindex(effort.index).fillna(0).astype(int)
    effort["largest_share"] = most.reindex(effort.index)
    return effort


def tellable(effort: pd.DataFrame) -> pd.Series:
    """Say of which pegs something may be told without telling of a person."""
    many = (effort["visits"] >= FEWEST_VISITS) & (effort["anglers"] >= FEWEST_ANGLERS)
    return many & (effort["largest_share"] <= LARGEST_SHARE)


def catch_rates(visits: Visits, species: str, *, level: float = 0.8) -> pd.DataFrame:
    """Return each peg's catch per hour of a species with its interval, index peg.

    Returns
    -------
    DataFrame
        As ``peg_effort``, and ``caught``, ``per_hour``, ``low``, ``high``. All but
        ``visits`` and ``hours`` are ``NaN`` where too few people stand behind them.
    """
    rates = peg_effort(visits)
    caught = visits.caught(species).groupby(visits.table["peg"], sort=False).sum()
    rates["caught"] = caught.reindex(rates.index).astype(float)
    rates["per_hour"] = rates["caught"] / rates["hours"]
    rates["low"], rates["high"] = rate_interval(
        rates["caught"], rates["hours"], level=level
    )
    shown = tellable(rates)
    hidden = ["anglers", "largest_share", "caught", "per_hour", "low", "high"]
    rates[hidden] = rates[hidden].astype(float).where(shown, axis=0)
    return rates
