"""A table of scored swims, ordered anew by a trained ranker where it earned that."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from layers.bederror import Z_80
from pegscore.water_table import water_table

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd

    from pegscore.trained import Trained

TOLD_FROM = 0.05
"""Effects smaller than this, in logs, are not told; our proposal."""

HERE, ELSEWHERE = "Returns", "Returns of another river"
"""Whose returns a sentence speaks of."""

WORDS = {
    "depth_m": "depth",
    "speed_m_s": "pace",
    "bed_grade": "bottom",
    "chainage_m": "this stretch",
    "peg": "this peg's record",
}


def trained_scores(
    table: pd.DataFrame, pegs: gpd.GeoDataFrame, trained: Trained
) -> pd.DataFrame:
    """Put the trained ranker's score in the place of the preferences'.

    Parameters
    ----------
    table : DataFrame, index as ``pegs``
        As ``pegscore.ranking.score_swims`` returns it, barred pegs blanked.
    pegs : GeoDataFrame
    trained : Trained

    Returns
    -------
    DataFrame
        ``score`` is now the expected catch rate as a share of the best open peg's,
        ``low`` and ``high`` its 80 % interval against that peg, cut off at 1;
        ``basis`` says of each peg what it rests on and ``returns`` tells in words what
        returns add. A peg that had no score still has none.
    """
    water = water_table(table, pegs)
    logs = np.where(table["score"].notna(), trained.log_rate(water), np.nan)
    if np.isnan(logs).all():
        return table.assign(basis="preference", returns="")
    gap = logs - np.nanmax(logs)
    reach = Z_80 * trained.log_rate_sd(water)
    parts = trained.parts(water)
    said = ELSEWHERE if trained.elsewhere_sd > 0 else HERE
    return table.assign(
        score=np.exp(gap),
        low=np.exp(gap - reach),
        high=np.minimum(np.exp(gap + reach), 1.0),
        basis=trained.basis(water),
        returns=[
            _told(parts.loc[peg], trained.records.get(str(peg)), said)
            for peg in table.index
        ],
    )


def _told(parts: pd.Series, visits: int | None, whose: str) -> str:
    """Say what the returns add; a record only where it tells of no person."""
    said = []
    for name, word in WORDS.items():
        effect = float(parts.get(name, 0.0))
        if abs(effect) < TOLD_FROM or (name == "peg" and visits is None):
            continue
        behind = f" on {visits} visits" if name == "peg" else ""
        said.append(f"{word} {100 * np.expm1(effect):+.0f} %{behind}")
    return f"{whose}: {', '.join(said)}." if said else ""
