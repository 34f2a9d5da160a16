"""The best contiguous stretches of bank for a species, for choosing where to go.

Every place of both banks is scored (``pegscore.candidates``); a stretch is as good as
the mean of its places. The best window of the wished length is found by sliding it
along both banks, then the best one that does not overlap it, and so on. No stretch
runs over a place where fishing is forbidden, or whose water is dry or unknown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import geopandas as gpd
import numpy as np
import shapely

from pegscore.bank_rules import CONFIDENTIAL
from pegscore.candidates import STEP_M, BankWishes, bank_m_of, candidate_table
from pegscore.cautions import LINE_CLEARANCE_M
from pegscore.errors import PegError
from pegscore.levels import level_caution
from pegscore.ranking import rank
from pegscore.row_flags import beyond_survey, unsourced

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from pegscore.conditions import Conditions
    from pegscore.workflow import Run

    Floats = NDArray[np.float64]

ROUNDING_M = 0.01
"""Places further apart than a step and this do not belong to one stretch."""


class Window(NamedTuple):
    """Places ``start`` up to but without ``end`` of a list, and their mean score."""

    start: int
    end: int
    mean: float


def best_windows(scores: Floats, size: int, top: int) -> list[Window]:
    """Return the best windows of ``size`` places, none overlapping a better one.

    Parameters
    ----------
    scores : float array (place,)
        ``NaN`` in no window.
    size, top : int
        Places in a window, and how many windows at most.

    Examples
    --------
    >>> best_windows(np.array([0.1, 0.9, 0.8, np.nan, 0.7, 0.7, 0.2]), 2, 3)
    [Window(start=1, end=3, mean=0.85), Window(start=4, end=6, mean=0.7)]
    """
    if not 0 < size <= len(scores):
        return []
    windows = np.lib.stride_tricks.sliding_window_view(scores, size)
    means = windows.mean(axis=1)  # NaN where any place is
    found: list[Window] = []
    while len(found) < top and not np.isnan(means).all():
        start = int(np.nanargmax(means))
        found.append(Window(start, start + size, float(means[start])))
        means[max(start - size + 1, 0) : start + size] = np.nan
    return found


def best_stretches(
    run: Run,
    name: str,
    conditions: Conditions,
    *,
    length_m: float = 100.0,
    top: int = 3,
    clearance_m: float = LINE_CLEARANCE_M,
) -> gpd.GeoDataFrame:
    """Return the best stretches of bank for a species, best first.

    Parameters
    ----------
    run : Run
        Built at the conditions' level.
    name : str
        The species.
    conditions : Conditions
        The day; its level decides.
    length_m : float, default=100
        How long a stretch is, metres along the bank.
    top : int, default=3
        How many at most.

    Returns
    -------
    GeoDataFrame
        ``bank``, ``from_m`` and ``to_m`` (chainage), ``score`` (mean of the places),
        ``low`` and ``high`` (80 %, of all its water moved together by the survey's
        errors, so rather too wide), ``why``, ``limiting``, ``pegs`` (names, by
        commas), the flags of ``pegscore.row_flags`` (``beyond_survey``,
        ``unsourced``, ``extrapolated``) and the line of the bank.

    Raises
    ------
    PegError
        If the length is no length, or no stretch of it can be fished.
    """
    size = round(length_m / STEP_M) if np.isfinite(length_m) else 0
    if size < 1:
        message = f"a stretch of {length_m:g} m is none; give some tens of metres"
        raise PegError(message)
    wishes = BankWishes(
        clearance_m=clearance_m, method=conditions.method, date=conditions.date
    )
    found = candidate_table(run, [name], [conditions.level_m], wishes=wishes)
    table = found.table
    hidden = table["excluded_public"].str.contains(CONFIDENTIAL, regex=False)
    scores = np.where(table["barred"] | hidden, np.nan, found.scores[0, 0])
    rows = _rows_with_gaps(table)
    spread = np.where(rows < 0, np.nan, scores[rows])
    windows = best_windows(spread, size, top)
    if not windows:
        message = (
            f"no {length_m:g} m of bank in one piece can be fished and scored; give a "
            "smaller --length"
        )
        raise PegError(message)
    own = [table.iloc[rows[window.start : window.end]] for window in windows]
    means = [window.mean for window in windows]
    return _told(run, name, conditions, own, means)


def _rows_with_gaps(table: gpd.GeoDataFrame) -> NDArray[np.int64]:
    """Return the rows in order, with -1 where the bank is broken."""
    far = np.diff(table["bank_m"]) > STEP_M + ROUNDING_M
    other = table["bank"].to_numpy()[1:] != table["bank"].to_numpy()[:-1]
    rows = np.arange(len(table))
    broken = np.flatnonzero(far | other) + 1
    return np.asarray(np.insert(rows, broken, -1), np.int64)


def _told(
    run: Run,
    name: str,
    conditions: Conditions,
    own: list[gpd.GeoDataFrame],
    means: list[float],
) -> gpd.GeoDataFrame:
    """Return one row a stretch, told from all the water of its places."""
    lines = [
        shapely.LineString(shapely.get_coordinates(part.geometry.to_numpy()))
        if len(part) > 1
        else part.geometry.iloc[0]
        for part in own
    ]
    water = [shapely.union_all(part["swim"].to_numpy()) for part in own]
    names = [str(number + 1) for number in range(len(own))]
    seats = gpd.GeoDataFrame(
        {"open": True, "swim": water}, index=names, geometry=lines, crs=own[0].crs
    )
    scored = rank(
        run.stack, seats, species=run.species[name], conditions=conditions
    ).set_index("peg")
    told = scored.loc[names]
    return gpd.GeoDataFrame(
        {
            "bank": [part["bank"].iloc[0] for part in own],
            "from_m": [part["chainage_m"].min() for part in own],
            "to_m": [part["chainage_m"].max() for part in own],
            "score": means,
            "low": np.fmin(told["low"].to_numpy(), means),
            "high": np.fmax(told["high"].to_numpy(), means),
            "limiting": told["limiting"].to_numpy(),
            "why": told["why"].to_numpy(),
            "pegs": [_pegs_in(run, part) for part in own],
            **_flags(run, name, conditions, seats, told),
        },
        geometry=lines,
        crs=own[0].crs,
    )


def _flags(
    run: Run,
    name: str,
    conditions: Conditions,
    seats: gpd.GeoDataFrame,
    told: gpd.GeoDataFrame,
) -> dict[str, Any]:
    """Return the columns of what the scores lean on."""
    beyond = beyond_survey(run.stack.grid, seats, run.survey.soundings)
    return {
        "beyond_survey": beyond.to_numpy(),
        "unsourced": unsourced(told, run.species[name]).to_numpy(),
        "extrapolated": bool(level_caution(run.survey, conditions.level_m)),
    }


def _pegs_in(run: Run, part: gpd.GeoDataFrame) -> str:
    """Return the names of the open pegs that stand on a stretch."""
    half_m = STEP_M / 2
    bank_m = bank_m_of(run.pegs, run.channel)
    low_m, high_m = part["bank_m"].min() - half_m, part["bank_m"].max() + half_m
    here = (run.pegs["bank"] == part["bank"].iloc[0]) & run.pegs["open"].astype(bool)
    here &= ~run.pegs["island"].astype(bool)
    here &= (bank_m >= low_m) & (bank_m <= high_m)
    return ", ".join(run.pegs.index[here].astype(str))
