"""Pegs of a fold left out: their scores by each rule, what was caught, how sure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import nbinom

from pegscore.baselines import BASELINES
from pegscore.count_law import log_likelihood
from pegscore.new_pegs import ALL, HALF, new_peg_score, new_peg_sd

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from pegscore.ranker import PegRanker

    Values = NDArray[np.float64]

HALF_TRAINED, TRAINED, PREFERENCES = "half trained", "trained", "preferences"

SUMMED = ["fish", "expected", "predicted", "hours", "visits"]
"""What adds up over the visits to a peg."""

USUAL_INFLATION, INFLATION_SD = 1.25, 0.5
"""What errors are too small by before the held-out pegs are asked; our proposal.

The study this design comes from found 1.2 to 1.3 on simulated clubs; the second number
is the spread of the square.
"""

HEAVY_TAILS = 2.0
"""Squares of held-out misses scatter this much more than normal ones; our proposal."""

OWN_SPREAD = 0.6
"""What is each peg's own, and its neighbours', in logs: no count tells water beyond it.

Our proposal; 0.46 and 0.32 together in the study this design comes from.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One fold's held-out pegs: their scores by each rule and what was caught.

    ``expected`` is what an average peg would have given, ``predicted`` what the ranker
    thought this one would, ``telling`` what each peg counts in pairs. ``sd`` is the
    error that the judged rule claims of each peg's score and ``day_sd`` the error of
    what the days and anglers of its visits did to the catch, in logs.
    """

    scores: Mapping[str, Values]
    caught: Values
    expected: Values
    predicted: Values
    hours: Values
    visits: Values
    sd: Values
    day_sd: Values
    telling: Values
    clump: float

    @property
    def ratio(self) -> Values:
        """Return caught over expected at an average peg."""
        return self.caught / self.expected


def hold(
    ranker: PegRanker,
    train: pd.DataFrame,
    held: pd.DataFrame,
    *,
    baselines: Sequence[str],
    new: bool,
) -> Held:
    """Score the pegs of the held-out visits; ``new`` ones as if nobody fished them."""
    told = ranker.explain(held[ranker.columns()])
    shared = told[["level", *ranker.nuisance_terms()]].sum(axis="columns")
    rate = ranker.predict(held[ranker.columns()])
    rows = held.assign(
        expected=held["hours"] * np.exp(shared),
        predicted=held["hours"] * rate,
        visits=1.0,
    )
    doubt = rows["expected"] * ranker.nuisance_sd(held[ranker.columns()])
    sums = rows.assign(doubt=doubt**2).groupby("peg")[[*SUMMED, "doubt"]].sum()
    pegs = ranker.standard(_usual(ranker, held).loc[sums.index])
    features = ranker.water_features()
    scores = {name: BASELINES[name](train, pegs, features) for name in baselines}
    columns = pegs[ranker.columns()]
    full = new_peg_score(ranker, pegs, share=ALL) if new else ranker.log_rate(columns)
    scores[TRAINED] = full
    scores[HALF_TRAINED] = new_peg_score(ranker, pegs, share=HALF)
    expected = sums["expected"].to_numpy(np.float64)
    visits = sums["visits"].to_numpy(np.float64)
    return Held(
        scores=scores,
        caught=sums["fish"].to_numpy(np.float64),
        expected=expected,
        predicted=sums["predicted"].to_numpy(np.float64),
        hours=sums["hours"].to_numpy(np.float64),
        visits=visits,
        sd=new_peg_sd(ranker, pegs) if new else ranker.log_rate_sd(columns),
        day_sd=np.sqrt(sums["doubt"].to_numpy()) / sums["expected"].to_numpy(),
        telling=telling(expected, visits, ranker.clump_) if new else expected,
        clump=ranker.clump_,
    )


def telling(expected: Values, visits: Values, clump: float) -> Values:
    """Return how much each peg's catch tells of its water, as one over a variance.

    The noise of the catch, ``1 / mean + 1 / (k n)`` in logs over n visits, and what is
    the peg's own: a peg fished every day tells little more of its water than one fished
    weekly, so that a few popular pegs do not decide.

    Examples
    --------
    >>> told = telling(np.array([1.0, 1e9]), np.array([1.0, 1e9]), 1.0)
    >>> (1 / told).round(2).tolist()
    [2.36, 0.36]
    """
    noise = 1.0 / np.maximum(expected, 1e-9) + 1.0 / (clump * visits)
    return np.asarray(1.0 / (noise + OWN_SPREAD**2))


def _usual(ranker: PegRanker, held: pd.DataFrame) -> pd.DataFrame:
    """Return one row a peg, its water the median of its visits' days."""
    pegs = held.drop_duplicates("peg").set_index("peg", drop=False)
    numbers = [name for name in ranker.columns() if name not in ranker.texts()]
    return pegs.assign(**held.groupby("peg")[numbers].median())


def log_scores(ranker: PegRanker, held: pd.DataFrame) -> Values:
    """Return the log-probability of each held-out visit's catch."""
    mean = ranker.predict(held[ranker.columns()]) * held["hours"].to_numpy()
    return log_likelihood(held["fish"].to_numpy(np.float64), mean, ranker.clump_)


def inside(ranker: PegRanker, held: pd.DataFrame) -> Values:
    """Return how much of each count's probability lies between 10 and 90 %.

    A whole number covers a stretch of probability; the part of it inside is what a
    randomised test would find on average.
    """
    mean = ranker.predict(held[ranker.columns()]) * held["hours"].to_numpy()
    fish, k = held["fish"].to_numpy(np.float64), ranker.clump_
    share = k / (k + mean)
    low, high = nbinom.cdf(fish - 1, k, share), nbinom.cdf(fish, k, share)
    part = np.clip(np.minimum(high, 0.9) - np.maximum(low, 0.1), 0.0, None)
    return np.asarray(part / np.maximum(high - low, 1e-12))


def inflation(folds: Sequence[Held], judged: str) -> float:
    """Return by how much the standard errors must grow, never below 1.

    By moments: what a held-out peg's catch misses, as a share of what was predicted,
    less the noise of its own catch (variance ``mean + mean^2 / (k n)`` over n visits)
    and the doubt about its days and anglers, against what was claimed. The common level
    is taken off each fold. Few or noisy pegs say little of it, so that the usual
    inflation speaks as well.
    """
    found, information = 0.0, 1.0 / INFLATION_SD**2
    total = information * USUAL_INFLATION**2
    for fold in folds:
        mean = fold.expected * np.exp(fold.scores[judged])
        mean = mean * fold.caught.sum() / mean.sum()
        noise = 1.0 / mean + 1.0 / (fold.clump * fold.visits) + fold.day_sd**2
        claimed = np.expm1(fold.sd**2)
        told = (fold.caught / mean - 1.0) ** 2 - noise
        weight = claimed / (noise + claimed) ** 2 / (2.0 * HEAVY_TAILS)
        found += float(weight @ told)
        information += float(weight @ claimed)
    return float(np.sqrt(max((total + found) / information, 1.0)))
