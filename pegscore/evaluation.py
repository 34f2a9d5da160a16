"""Whether a trained ranker beats the preferences on water and days it never saw.

Two questions, two tests. *New pegs*: whole stretches are left out and the ranker,
which knows nothing of their records, orders the pegs of each. *Fished pegs*: whole
spells of time are left out and the pegs fished in them are ordered by what was caught
before and after. Orders are held against catches corrected for who fished, when and
what for; the truth itself nobody knows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.stats import nbinom
from sklearn.base import clone
from threadpoolctl import threadpool_limits

from pegscore.baselines import BASELINES
from pegscore.folds import stretch_blocks, time_blocks
from pegscore.metrics import ndcg, pair_balance, regret, tau_b
from pegscore.rate_model import log_likelihood

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from pegscore.ranker import PegRanker

    Values = NDArray[np.float64]

GATE_Z = 1.2815515655446004
"""Standard errors by which the gain in concordance must exceed nothing.

One chance in ten if there is no gain and the gain's law is normal; our proposal.
"""

MIN_HOURS = 10.0
"""Expected hours below which a held-out peg's rate says too little for tau-b."""

SCHEMES = ("new pegs", "fished pegs")
HALF, FULL, PRIOR = "half trained", "trained", "preferences"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One fold's held-out pegs: their scores by each rule and what was caught."""

    scores: Mapping[str, Values]
    caught: Values
    expected: Values
    hours: Values
    visits: Values
    sd: Values
    clump: float

    @property
    def ratio(self) -> Values:
        """Return caught over expected at an average peg."""
        return self.caught / self.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The outcome of one test.

    ``table`` has a row a rule: ``concordance``, ``gain`` over the preferences with its
    standard error ``gain_se`` (jackknife over pegs), ``ndcg5``, ``ndcg10``,
    ``regret5``, ``tau_b``, each the mean of the folds, and ``..._se`` over the folds.
    ``log_score`` is the mean log-probability of a held-out visit, ``coverage`` how
    often it fell into its 80 % interval; ``inflation`` by how much the ranker's
    standard errors are too small. ``judged`` is the rule that would replace the
    preferences and ``accepted`` whether it may.
    """

    scheme: str
    table: pd.DataFrame
    judged: str
    log_score: float
    coverage: float
    inflation: float
    accepted: bool

    def sentence(self) -> str:
        """Say the outcome in one line."""
        row = self.table.loc[self.judged]
        verdict = "used" if self.accepted else "not used"
        return (
            f"{self.scheme}: trained ranking {verdict}; held-out gain "
            f"{row['gain']:+.3f} ± {row['gain_se']:.3f} in concordance"
        )


def compare(
    ranker: PegRanker,
    visits: pd.DataFrame,
    *,
    scheme: str,
    weight: Values | None = None,
    baselines: Sequence[str] = tuple(BASELINES),
) -> Comparison:
    """Test a ranker on held-out stretches or days beside simpler rules.

    Parameters
    ----------
    ranker : PegRanker
        Not yet fitted; copies are.
    visits : DataFrame
        One row a visit: ``peg``, ``date``, ``season``, ``hours``, ``fish``,
        ``chainage_m``, ``log_prior`` and every column the ranker names.
    scheme : {'new pegs', 'fished pegs'}
    weight : array (visit,), optional
        What each visit counts in the fits.
    baselines : sequence of str
        Names of ``pegscore.baselines.BASELINES``; the preferences must be one.
    """
    labels = (stretch_blocks if scheme == SCHEMES[0] else time_blocks)(visits)
    weights = np.ones(len(visits)) if weight is None else weight
    folds, logs, inside = [], [], []
    for label in np.unique(labels):
        out = labels == label
        train, held = visits[~out], visits[out]
        if not (train["fish"] > 0).any():
            continue
        with threadpool_limits(limits=1):  # many small fits: threads only wait
            fitted = fit_ranker(clone(ranker), train, weights[~out])
            folds.append(_held(fitted, train, held, baselines))
        logs.append(_log_scores(fitted, held))
        inside.append(_inside(fitted, held))
    judged = HALF if scheme == SCHEMES[0] else FULL
    table = _table(folds)
    row = table.loc[judged]
    return Comparison(
        scheme=scheme,
        table=table,
        judged=judged,
        log_score=float(np.concatenate(logs).mean()),
        coverage=float(np.concatenate(inside).mean()),
        inflation=_inflation(folds),
        accepted=bool(row["gain"] > GATE_Z * row["gain_se"]),
    )


def fit_ranker(
    ranker: PegRanker, visits: pd.DataFrame, weight: Values | None = None
) -> PegRanker:
    """Fit to visits with their hours as exposure."""
    rate = visits["fish"] / visits["hours"]
    return ranker.fit(
        visits[ranker.columns()], rate, sample_weight=weight, exposure=visits["hours"]
    )


def half_score(ranker: PegRanker, pegs: pd.DataFrame) -> Values:
    """Return half the preferences' log score and half the trained one's.

    Pegs' own records are left out: this is for pegs that have none.
    """
    told = ranker.explain(pegs[ranker.columns()])
    water = [name for name in told if name in ranker.water_terms()]
    prior = ranker.slope * pegs["log_prior"].to_numpy(np.float64)
    return np.asarray(0.5 * prior + 0.5 * told[water].sum(axis="columns"))


def _held(
    ranker: PegRanker,
    train: pd.DataFrame,
    held: pd.DataFrame,
    baselines: Sequence[str],
) -> Held:
    told = ranker.explain(held[ranker.columns()])
    shared = told[["level", *ranker.nuisance_terms()]].sum(axis="columns")
    rows = held.assign(expected=held["hours"] * np.exp(shared), visits=1.0)
    sums = rows.groupby("peg")[["fish", "expected", "hours", "visits"]].sum()
    pegs = held.drop_duplicates("peg").set_index("peg", drop=False).loc[sums.index]
    pegs = ranker.standard(pegs)
    features = ranker.water_features()
    scores = {name: BASELINES[name](train, pegs, features) for name in baselines}
    columns = pegs[ranker.columns()]
    scores[FULL] = ranker.log_rate(columns)
    scores[HALF] = half_score(ranker, pegs)
    return Held(
        scores=scores,
        caught=sums["fish"].to_numpy(np.float64),
        expected=sums["expected"].to_numpy(np.float64),
        hours=sums["hours"].to_numpy(np.float64),
        visits=sums["visits"].to_numpy(np.float64),
        sd=ranker.log_rate_sd(columns),
        clump=ranker.clump_,
    )


def _table(folds: Sequence[Held]) -> pd.DataFrame:
    rows = {name: _row(folds, name) for name in folds[0].scores}
    return pd.DataFrame(rows).T


def _row(folds: Sequence[Held], name: str) -> dict[str, float]:
    gain, gain_se = _gain(folds, name)
    level = _pooled([pair_balance(f.scores[name], f.ratio, f.expected) for f in folds])
    found = {"concordance": level, "gain": gain, "gain_se": gain_se}
    per_fold: dict[str, list[float]] = {}
    for fold in folds:
        score, long = fold.scores[name], fold.hours >= MIN_HOURS
        # a ratio shrunk by one expected visit's fish, lest one lucky bag decide
        gains = (fold.caught + 1.0) / (fold.expected + 1.0)
        per_fold.setdefault("ndcg5", []).append(ndcg(score, gains, top=5))
        per_fold.setdefault("ndcg10", []).append(ndcg(score, gains, top=10))
        per_fold.setdefault("regret5", []).append(regret(score, gains))
        per_fold.setdefault("tau_b", []).append(tau_b(score[long], fold.ratio[long]))
    for measure, values in per_fold.items():
        series = pd.Series(values)
        found[measure] = float(series.mean())
        found[f"{measure}_se"] = float(series.std() / np.sqrt(max(series.count(), 1)))
    return found


def _pooled(balances: Sequence[tuple[Values, Values]]) -> float:
    total = sum(float(weight.sum()) for _, weight in balances)
    return sum(float(sign.sum()) for sign, _ in balances) / max(total, 1e-12)


def _gain(folds: Sequence[Held], name: str) -> tuple[float, float]:
    """Return the gain in concordance over the preferences, jackknifed over pegs."""
    extra, weight = [], []
    for fold in folds:
        ours, pair = pair_balance(fold.scores[name], fold.ratio, fold.expected)
        theirs, _ = pair_balance(fold.scores[PRIOR], fold.ratio, fold.expected)
        extra.append((ours - theirs).sum(axis=1))
        weight.append(pair.sum(axis=1))
    more, total = np.concatenate(extra), np.concatenate(weight)
    whole = max(float(total.sum()), 1e-12)
    left = (more.sum() - 2 * more) / np.maximum(whole - 2 * total, 1e-12)
    count = len(more)
    spread = (count - 1) / count * float(np.sum((left - left.mean()) ** 2))
    return float(more.sum() / whole), float(np.sqrt(spread))


def _log_scores(ranker: PegRanker, held: pd.DataFrame) -> Values:
    mean = ranker.predict(held[ranker.columns()]) * held["hours"].to_numpy()
    return log_likelihood(held["fish"].to_numpy(np.float64), mean, ranker.clump_)


def _inside(ranker: PegRanker, held: pd.DataFrame) -> Values:
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


def _inflation(folds: Sequence[Held]) -> float:
    """Return by how much the standard errors must grow, never below 1.

    By moments: what a held-out peg's catch misses, as a share of what was predicted,
    less the noise of its own catch (variance ``mean + mean^2 / (k n)`` over n visits),
    against what was claimed. The common level is taken off each fold.
    """
    missed, claimed = 0.0, 0.0
    for fold in folds:
        mean = fold.expected * np.exp(fold.scores[FULL])
        mean = mean * fold.caught.sum() / mean.sum()
        noise = 1.0 / mean + 1.0 / (fold.clump * fold.visits)
        gap = fold.caught / mean - 1.0
        weight = 1.0 / (noise + fold.sd**2) ** 2
        missed += float(weight @ (gap**2 - noise))
        claimed += float(weight @ np.expm1(fold.sd**2))
    return float(np.sqrt(max(missed / max(claimed, 1e-12), 1.0)))
