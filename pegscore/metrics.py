"""How good an order of pegs is, against what was caught; pure arrays.

References
----------
Järvelin & Kekäläinen 2002, ACM Trans. Inf. Syst. 20:422-446 (from memory): NDCG, here
with linear gain, ties counted at their average as scikit-learn does.
Kendall 1945, Biometrika 33:239-251 (from memory): tau-b.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import kendalltau

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Values = NDArray[np.float64]


def regret(score: ArrayLike, gain: ArrayLike, *, top: int = 5) -> float:
    """Return the share of the attainable catch that the best ``top`` pegs miss.

    Pegs of equal score are taken at their average gain. ``NaN`` if nothing can be
    caught anywhere.

    Examples
    --------
    The best two would give 4 + 3 = 7 and the order's best two give 4 + 1 = 5:

    >>> round(regret([9, 1, 5, 3], [4, 3, 1, 2], top=2), 4)
    0.2857
    """
    scores, gains = np.asarray(score, np.float64), np.asarray(gain, np.float64)
    best = np.sort(gains)[::-1][:top].sum()
    if len(gains) == 0 or best <= 0:
        return float("nan")
    return float(1.0 - _in_order(scores, gains)[:top].sum() / best)


def ndcg(score: ArrayLike, gain: ArrayLike, *, top: int) -> float:
    """Return the normalised discounted cumulative gain of the first ``top``.

    Examples
    --------
    >>> ndcg([3, 2, 1], [5.0, 1.0, 0.0], top=2)
    1.0
    """
    scores, gains = np.asarray(score, np.float64), np.asarray(gain, np.float64)
    top = min(top, len(gains))
    discount = 1.0 / np.log2(np.arange(2, top + 2))
    ideal = float(np.sort(gains)[::-1][:top] @ discount)
    if ideal <= 0:
        return float("nan")
    return float(_in_order(scores, gains)[:top] @ discount) / ideal


def tau_b(score: ArrayLike, gain: ArrayLike) -> float:
    """Return Kendall's tau-b; ``NaN`` if either side is empty or all ties."""
    scores, gains = np.asarray(score, np.float64), np.asarray(gain, np.float64)
    if len(scores) == 0 or np.ptp(scores) == 0 or np.ptp(gains) == 0:
        return float("nan")
    return float(kendalltau(scores, gains).statistic)


def concordance(score: ArrayLike, ratio: ArrayLike, weight: ArrayLike) -> float:
    """Return the weighted share of pairs in the right order less that in the wrong.

    Parameters
    ----------
    score : array (peg,)
    ratio : array (peg,)
        Caught over expected at an average peg.
    weight : array (peg,)
        What was expected there; a pair weighs as its lesser one.

    Returns
    -------
    float
        In [-1, 1]; 0 for an order by chance, ``NaN`` without a pair that differs.

    Examples
    --------
    >>> concordance([1, 2, 3], [0.1, 0.9, 0.5], [1, 1, 1])  # two pairs right, one not
    0.3333333333333333
    """
    pair_sums = pair_balance(score, ratio, weight)
    total = float(pair_sums[1].sum())
    return float(pair_sums[0].sum() / total) if total > 0 else float("nan")


def pair_balance(
    score: ArrayLike, ratio: ArrayLike, weight: ArrayLike
) -> tuple[Values, Values]:
    """Return each pair's balance (weight with its sign) and weight, (peg, peg)."""
    scores, ratios = np.asarray(score, np.float64), np.asarray(ratio, np.float64)
    weights = np.asarray(weight, np.float64)
    truth = np.sign(ratios[:, None] - ratios)
    pair = np.minimum(weights[:, None], weights) * np.abs(truth)
    agree = np.sign(scores[:, None] - scores) * truth
    return np.asarray(pair * agree), np.asarray(pair)


def _in_order(scores: Values, gains: Values) -> Values:
    """Return the gains, best score first, ties at their mean."""
    levels, place, size = np.unique(-scores, return_inverse=True, return_counts=True)
    mean = np.bincount(place, gains, len(levels)) / size
    return np.asarray(np.repeat(mean, size))
