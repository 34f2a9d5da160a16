"""The water of each peg as a ranker sees it: log preference and swim features."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from layers.river import SUBSTRATES

if TYPE_CHECKING:
    from collections.abc import Mapping

    import geopandas as gpd

LIFT = 0.05
"""Added to the index before its logarithm.

One wrong curve must not rule a good peg out for ever; our proposal.
"""

FEATURES = ("depth_m", "speed_m_s", "bed_grade")
"""What a ranker corrects the preferences over."""

FACTORS = ("suit_depth", "suit_speed", "suit_substrate")


def water_table(scores: pd.DataFrame, pegs: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return one row a peg: ``peg``, ``chainage_m``, ``log_prior`` and ``FEATURES``.

    Parameters
    ----------
    scores : DataFrame, index as ``pegs``
        As ``pegscore.ranking.score_swims`` returns it.
    pegs : GeoDataFrame
        As ``pegscore.pegs.place_pegs`` returns it.

    Returns
    -------
    DataFrame
        ``log_prior`` is the logarithm of the geometric mean of the factors known,
        lifted by ``LIFT``; ``bed_grade`` the mean place of the bottom in the order of
        ``layers.river.SUBSTRATES``, fine to coarse. ``NaN`` where not known.
    """
    known = scores[list(FACTORS)].notna().sum(axis="columns").clip(lower=1)
    index = scores["score"] ** (1.0 / known)
    table = scores.assign(
        peg=scores.index.astype(str),
        chainage_m=pegs["chainage_m"].to_numpy(np.float64),
        log_prior=np.log(index + LIFT),
        bed_grade=bed_grade(scores),
    )
    return table[["peg", "chainage_m", "log_prior", *FEATURES]].rename_axis(None)


def bed_grade(scores: Mapping[str, pd.Series] | pd.DataFrame) -> pd.Series | float:
    """Return the mean place of the bottom in ``SUBSTRATES``; ``NaN`` if not known."""
    shares = [name for name in SUBSTRATES if f"{name}_share" in scores]
    if not shares:
        return np.nan
    parts = [SUBSTRATES.index(name) * scores[f"{name}_share"] for name in shares]
    total: pd.Series = pd.concat(parts, axis=1).sum(axis=1, skipna=False)
    return total
