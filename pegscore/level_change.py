"""What a rise or fall of the board does to each peg: "better above 0.75"."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from pegscore.features import gather_cells, swim_mean
from pegscore.intervals import HIGH, LOW, drawn_scores, dry_as_zero
from pegscore.ranking import known_parts, swim_water
from pegscore.suitability import combine, factors

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from layers.stack import Stack
    from pegscore.features import SwimCells
    from pegscore.species import Species

    Values = NDArray[np.float64]

TOLD_FROM = 0.05
"""A change of score from here on is worth a word; our proposal. It must also keep its
sign in the middle 80 % of the survey's errors, drawn alike at both levels."""

CHANGES = ("better_above_m", "worse_above_m", "better_below_m", "worse_below_m")
"""The columns of ``level_changes``."""


def level_changes(
    stack: Stack,
    pegs: gpd.GeoDataFrame,
    species: Species,
    level_m: float,
    *,
    levels_m: Sequence[float],
) -> pd.DataFrame:
    """Return from which board readings each peg is clearly better or worse than now.

    Parameters
    ----------
    stack : Stack
        Layers that hold all the levels named.
    pegs : GeoDataFrame
        With a column ``swim``.
    species : Species
        Whose preferences score the water; catch returns and the day are left out.
    level_m : float
        Now.
    levels_m : sequence of float
        The levels to compare with.

    Returns
    -------
    DataFrame, index as ``pegs``
        ``CHANGES``: the reading at which the score, going evenly from level to level,
        has changed by ``TOLD_FROM``, upwards and downwards; ``NaN`` where no level
        compared shows a change that the survey's errors leave sure.
    """
    cells = gather_cells(stack.grid, gpd.GeoSeries(pegs["swim"]))
    seen = {level_m: _scored(stack, species, cells, len(pegs), level_m)}
    for level in levels_m:
        if level not in seen:
            seen[level] = _scored(stack, species, cells, len(pegs), level)
    rising = sorted(level for level in seen if level >= level_m)
    falling = sorted((level for level in seen if level <= level_m), reverse=True)
    better_above, worse_above = _crossings(rising, seen)
    better_below, worse_below = _crossings(falling, seen)
    columns = (better_above, worse_above, better_below, worse_below)
    return pd.DataFrame(dict(zip(CHANGES, columns, strict=True)), index=pegs.index)


def _scored(
    stack: Stack, species: Species, cells: SwimCells, swims: int, level_m: float
) -> tuple[Values, Values]:
    """Return each swim's score and its scores under the draws of the errors."""
    water = swim_water(stack, cells, level_m)
    parts = factors(
        species, depth_m=water.depth_m, speed_m_s=water.speed_m_s, shares=water.shares
    )
    known = known_parts(parts)
    if not known:
        unknown = np.full(swims, np.nan)
        return unknown, unknown[None, :]
    score = swim_mean(dry_as_zero(combine(known), water), cells, swims)
    return score, drawn_scores(species, water, cells, swims, rule="product")


def _crossings(
    levels: Sequence[float], seen: dict[float, tuple[Values, Values]]
) -> tuple[Values, Values]:
    """Walk away from now; return where the first sure change, up or down, sets in."""
    now, now_drawn = seen[levels[0]]
    better, worse = np.full(now.shape, np.nan), np.full(now.shape, np.nan)
    before, before_m = np.zeros(now.shape), levels[0]
    for level_m in levels[1:]:
        score, drawn = seen[level_m]
        change = score - now
        low, high = np.quantile(drawn - now_drawn, [LOW, HIGH], axis=0)
        open_ = np.isnan(better) & np.isnan(worse)
        for found, sign, sure in ((better, 1.0, low > 0), (worse, -1.0, high < 0)):
            here = open_ & sure & (sign * change >= TOLD_FROM)
            with np.errstate(invalid="ignore", divide="ignore"):
                share = (sign * TOLD_FROM - before) / (change - before)
            at_m = before_m + np.clip(share, 0.0, 1.0) * (level_m - before_m)
            found[here] = at_m[here]
        before, before_m = change, level_m
    return better, worse
