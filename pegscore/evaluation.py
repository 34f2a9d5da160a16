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
from sklearn.base import clone
from threadpoolctl import threadpool_limits

from layers.bederror import Z_80
from pegscore.baselines import BASELINES
from pegscore.folds import joint_cuts, stretch_blocks, time_blocks
from pegscore.held_out import (
    HALF_TRAINED,
    PREFERENCES,
    TRAINED,
    Held,
    hold,
    inflation,
    inside,
    log_scores,
)
from pegscore.metrics import ndcg, pair_balance, regret, tau_b
from pegscore.new_pegs import ALL, HALF, NOTHING
from pegscore.predicted import calibration_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from pegscore.ranker import PegRanker

    Values = NDArray[np.float64]
    Mask = NDArray[np.bool_]

GATE_Z = Z_80
"""Standard errors by which the gain in concordance must exceed nothing.

One chance in ten if there is no gain and the gain's law is normal; our proposal.
"""

MIN_HOURS = 10.0
"""Expected hours below which a held-out peg's rate says too little for tau-b."""

SCHEMES = ("new pegs", "fished pegs")
"""The tests that decide."""

JOINT = "new pegs, other seasons"
"""Stretch and season held out at once: the hardest test, shown and deciding nothing."""


NOT_PROVEN = "the trained ranking did not prove itself"
HALF_PROVEN = "half of the trained ranking proved itself"
PROVEN = "the trained ranking proved itself"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The outcome of one test.

    ``table`` has a row a rule: ``concordance``, ``gain`` over the preferences with its
    standard error ``gain_se`` (jackknife over pegs), ``ndcg5``, ``ndcg10``,
    ``regret5``, ``tau_b``, each the mean of the folds, and ``..._se`` over the folds.
    ``log_score`` is the mean log-probability of a held-out visit, ``coverage`` how
    often it fell into its 80 % interval; ``inflation`` by how much the ranker's
    standard errors are too small. ``judged`` is the rule that would replace the
    preferences and ``accepted`` whether it may; ``more`` says that on new pegs all
    that was learnt did better still than half of it. ``calibration`` sets predicted
    beside caught (``pegscore.predicted``).
    """

    scheme: str
    table: pd.DataFrame
    judged: str
    log_score: float
    coverage: float
    inflation: float
    accepted: bool
    more: bool
    calibration: pd.DataFrame

    @property
    def share(self) -> float:
        """Return how much of what was learnt may be used: 0, half or all of it."""
        if not self.accepted:
            return NOTHING
        return ALL if self.more or self.judged == TRAINED else HALF

    def sentence(self) -> str:
        """Say the outcome in one line."""
        row = self.table.loc[self.judged]
        verdict = {NOTHING: NOT_PROVEN, HALF: HALF_PROVEN, ALL: PROVEN}[self.share]
        gain, error = 50 * row["gain"], 50 * row["gain_se"]  # concordance: -1 to 1
        more = "more" if gain >= 0 else "fewer"
        return (
            f"{self.scheme.capitalize()}: {verdict}; of 100 pairs of pegs held back it "
            f"put {abs(gain):.0f} ± {error:.0f} {more} in the right order than the "
            "preferences"
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
    scheme : {'new pegs', 'fished pegs', 'new pegs, other seasons'}
        The last needs two stretches and two seasons, see ``pegscore.folds.joint_cuts``.
    weight : array (visit,), optional
        What each visit counts in the fits.
    baselines : sequence of str
        Names of ``pegscore.baselines.BASELINES``; the preferences must be one.
    """
    weights = np.ones(len(visits)) if weight is None else weight
    new = scheme != SCHEMES[1]
    folds, logs, within = [], [], []
    for kept, out in _cuts(visits, scheme):
        train, held = visits[kept], visits[out]
        if not (train["fish"] > 0).any():
            continue
        with threadpool_limits(limits=1):  # many small fits: threads only wait
            fitted = fit_ranker(clone(ranker), train, weights[kept])
            folds.append(hold(fitted, train, held, baselines=baselines, new=new))
        logs.append(log_scores(fitted, held))
        within.append(inside(fitted, held))
    judged = HALF_TRAINED if new else TRAINED
    return Comparison(
        scheme=scheme,
        table=_table(folds),
        judged=judged,
        log_score=float(np.concatenate(logs).mean()),
        coverage=float(np.concatenate(within).mean()),
        inflation=inflation(folds, judged),
        accepted=_proven(folds, judged, PREFERENCES),
        more=new and _proven(folds, TRAINED, HALF_TRAINED),
        calibration=calibration_table(
            np.concatenate([fold.predicted for fold in folds]),
            np.concatenate([fold.caught for fold in folds]),
        ),
    )


def _cuts(visits: pd.DataFrame, scheme: str) -> list[tuple[Mask, Mask]]:
    """Return what trains and what is held out, fold by fold."""
    if scheme == JOINT:
        return joint_cuts(visits)
    labels = (stretch_blocks if scheme == SCHEMES[0] else time_blocks)(visits)
    return [(labels != label, labels == label) for label in np.unique(labels)]


def fit_ranker(
    ranker: PegRanker, visits: pd.DataFrame, weight: Values | None = None
) -> PegRanker:
    """Fit to visits with their hours as exposure."""
    rate = visits["fish"] / visits["hours"]
    told = visits[ranker.columns()]
    with threadpool_limits(limits=1):  # small systems: more threads only wait
        return ranker.fit(told, rate, sample_weight=weight, exposure=visits["hours"])


def _table(folds: Sequence[Held]) -> pd.DataFrame:
    rows = {name: _row(folds, name) for name in folds[0].scores}
    return pd.DataFrame(rows).T


def _row(folds: Sequence[Held], name: str) -> dict[str, float]:
    gain, gain_se = _gain(folds, name, PREFERENCES)
    level = _pooled([pair_balance(f.scores[name], f.ratio, f.telling) for f in folds])
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


def _proven(folds: Sequence[Held], name: str, rival: str) -> bool:
    gain, error = _gain(folds, name, rival)
    return bool(gain > GATE_Z * error)


def _gain(folds: Sequence[Held], name: str, rival: str) -> tuple[float, float]:
    """Return the gain in concordance over a rival, jackknifed over pegs."""
    extra, weight = [], []
    for fold in folds:
        ours, pair = pair_balance(fold.scores[name], fold.ratio, fold.telling)
        theirs, _ = pair_balance(fold.scores[rival], fold.ratio, fold.telling)
        extra.append((ours - theirs).sum(axis=1))
        weight.append(pair.sum(axis=1))
    more, total = np.concatenate(extra), np.concatenate(weight)
    whole = max(float(total.sum()), 1e-12)
    left = (more.sum() - 2 * more) / np.maximum(whole - 2 * total, 1e-12)
    count = len(more)
    spread = (count - 1) / count * float(np.sum((left - left.mean()) ** 2))
    return float(more.sum() / whole), float(np.sqrt(spread))
