"""A ranker trained on one river, put to work on another.

What it learnt of depth, pace and bottom may hold elsewhere; what it learnt of single
pegs and stretches cannot. So those are taken out, and of the rest no more than half is
believed: in simulation half the published preferences and half the transferred ranker
was never worse than the preferences alone.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from pegscore.new_pegs import HALF
from pegscore.rate_design import Design

if TYPE_CHECKING:
    from pegscore.trained import Trained

OF_ONE_RIVER = ("peg", "chainage_m")
"""Terms that mean nothing on another river."""


def transferred(trained: Trained) -> Trained:
    """Return a ranker for a river it was not trained on.

    Every peg there counts as new: its score is half the preferences' word and half
    the ranker's, with the errors of new pegs and the whole spread between pegs.
    """
    kept = tuple(t for t in trained.design.terms if t.column not in OF_ONE_RIVER)
    places = trained.design.places()
    chosen = np.zeros(len(trained.coef), bool)
    chosen[0] = True
    for term in kept:
        chosen[places[term.column]] = True
    new, _ = trained.inflation
    return replace(
        trained,
        design=Design(terms=kept, nuisance=frozenset()),
        coef=trained.coef[chosen],
        covariance=trained.covariance[np.ix_(chosen, chosen)],
        sds=_kept_sds(trained),
        inflation=(new, new),
        for_fished=False,
        new_share=HALF,
        records={},
        elsewhere_sd=_spread_between_pegs(trained),
    )


def _kept_sds(trained: Trained) -> tuple[float, ...]:
    """Return the spreads of the terms that stay; the first is the intercept's."""
    kept, start = [trained.sds[0]], 1
    for term in trained.design.terms:
        end = start + len(term.blocks())
        if term.column not in OF_ONE_RIVER:
            kept.extend(trained.sds[start:end])
        start = end
    return tuple(kept)


def _spread_between_pegs(trained: Trained) -> float:
    """Return the standard deviation between pegs that the dropped terms held."""
    variance, start = trained.elsewhere_sd**2, 1
    for term in trained.design.terms:
        end = start + len(term.blocks())
        if term.column in OF_ONE_RIVER:
            variance += sum(sd**2 for sd in trained.sds[start:end] if np.isfinite(sd))
        start = end
    return float(np.sqrt(variance))
