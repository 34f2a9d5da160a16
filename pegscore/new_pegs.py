"""The score of pegs nobody fished: how much of what was learnt they may use.

A peg without returns has no record of its own. Its water's score lies between the
preferences' (share 0) and the learnt one (share 1); half and half never lost to the
preferences on average on simulated clubs. What its neighbours share along the river is
added in full: on invented clubs the closed pegs' best five then lost a sixth less.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from pegscore.ranker import PegRanker

    Values = NDArray[np.float64]

NOTHING, HALF, ALL = 0.0, 0.5, 1.0
"""The shares that can prove themselves."""


def new_peg_score(
    ranker: PegRanker, pegs: pd.DataFrame, *, share: float = HALF
) -> Values:
    """Return the log score of pegs as if none of them had a record.

    Parameters
    ----------
    ranker : PegRanker
        Fitted, with a prior.
    pegs : DataFrame
        One row a peg with the ranker's columns.
    share : float, default=0.5
        0 is the preferences alone and 1 all that was learnt.
    """
    if share == NOTHING:
        return ranker.prior_score(pegs)
    told = ranker.explain(pegs[ranker.columns()])
    water = told[ranker.water_terms()].sum(axis="columns").to_numpy(np.float64)
    mixed = (1.0 - share) * ranker.prior_score(pegs) + share * water
    near = told.get(ranker.chainage, 0.0)
    return np.asarray(mixed + near)


def new_peg_sd(ranker: PegRanker, pegs: pd.DataFrame, *, share: float = HALF) -> Values:
    """Return the standard error of ``new_peg_score``.

    What was learnt is held to be right within its own error, so that a score which
    leaves some of it out errs by that too.
    """
    strangers = pegs.assign(**{ranker.peg: ""}) if ranker.peg else pegs
    gap = new_peg_score(ranker, pegs, share=share)
    gap = gap - new_peg_score(ranker, pegs, share=ALL)
    gap -= gap.mean() if len(gap) else 0.0
    return np.hypot(ranker.log_rate_sd(strangers[ranker.columns()]), gap)
