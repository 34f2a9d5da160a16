"""What the day does to scored swims: a factor a peg, and which pegs it leaves alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.features import swim_mean
from pegscore.modifiers import cell_factor
from pegscore.tiers import tiers

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from pegscore.features import SwimCells
    from pegscore.intervals import Water
    from pegscore.modifiers import Modifier

    Values = NDArray[np.float64]

WORDS = {"depth_m": "its depth", "speed_m_s": "its pace"}
"""What a modifier along a quantity is called beside a peg."""

TOLD_FROM = 0.005
"""Modifiers nearer to 1 than this round to it and are not told."""


def swim_modifier(
    scores: Values,
    water: Water,
    modifiers: tuple[Modifier, ...],
    cells: SwimCells,
    swims: int,
) -> Values:
    """Return what modifiers do to each swim: the mean over its cells by their score.

    Score times modifier is then what the swim would score if each cell's score were
    multiplied; 1 where nothing tells cells apart or nothing scores.
    """
    factor = cell_factor(
        modifiers, {"depth_m": water.depth_m, "speed_m_s": water.speed_m_s}
    )
    if factor is None:
        return np.ones(swims)
    plain = swim_mean(scores, cells, swims)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = swim_mean(scores * factor, cells, swims) / plain
    return np.where(np.isfinite(share), share, 1.0)


def of_today(table: pd.DataFrame, held: tuple[Modifier, ...]) -> pd.DataFrame:
    """Add ``modifier_why``, ``today`` (score times modifier) and ``tier``."""
    today, low, high = (
        np.minimum(table[name] * table["modifier"], 1.0)
        for name in ("score", "low", "high")
    )
    words = " and ".join(dict.fromkeys(WORDS[each.by] for each in held if each.by))
    told = [
        f"{words} ×{factor:.2f}" if abs(factor - 1) >= TOLD_FROM else ""
        for factor in table["modifier"]
    ]
    return table.assign(modifier_why=told, today=today, tier=tiers(today, low, high))
