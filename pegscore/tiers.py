"""Tiers instead of ranks: which pegs cannot be told apart from the best of them.

Neighbouring ranks are mostly noise. On simulated clubs with 1,000 returns the 80 %
interval of a peg's rank spanned two fifths of the list, so a rank of 7 rather than 9
means nothing, while "in the first tier" does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.errors import PegError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Tiers = NDArray[np.int64]

NOT_TOLD = 0
"""The tier of a peg without a score or without an interval."""


def tiers(score: ArrayLike, low: ArrayLike, high: ArrayLike) -> Tiers:
    """Return each peg's tier, 1 the best; within a tier pegs cannot be told apart.

    The best score leads the first tier, and every peg whose interval meets its
    leader's belongs to it, however low its own score: a peg known too little to be
    called worse is not called worse. The best of the rest leads the next tier.

    Parameters
    ----------
    score : array (peg,)
        More is better; ``NaN`` where not known.
    low, high : array (peg,)
        The interval of each score, usually of 80 %, in the unit of ``score``.

    Returns
    -------
    int64 array (peg,)
        From 1 without gaps; 0 where score or interval is not known.

    Raises
    ------
    PegError
        If the lengths differ or an interval ends below its beginning.

    Examples
    --------
    The third peg reaches up to the first, the second does not:

    >>> tiers([0.9, 0.6, 0.5], [0.8, 0.5, 0.2], [0.95, 0.7, 0.85]).tolist()
    [1, 2, 1]
    """
    values, lows, highs = _checked(score, low, high)
    found = np.full(len(values), NOT_TOLD, dtype=np.int64)
    open_ = ~np.isnan(values) & ~np.isnan(lows) & ~np.isnan(highs)
    tier = 0
    while open_.any():
        tier += 1
        leader = int(np.argmax(np.where(open_, values, -np.inf)))
        meets = open_ & (highs >= lows[leader]) & (lows <= highs[leader])
        meets[leader] = True
        found[meets] = tier
        open_ &= ~meets
    return found


def _checked(*columns: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    arrays = tuple(np.asarray(column, np.float64) for column in columns)
    if len({array.shape for array in arrays}) > 1 or arrays[0].ndim != 1:
        shapes = ", ".join(str(array.shape) for array in arrays)
        message = f"score, low and high have shapes {shapes}; give one value a peg"
        raise PegError(message)
    _, lows, highs = arrays
    if np.any(lows > highs):
        at = int(np.argmax(lows > highs))
        message = f"interval {at} runs from {lows[at]} to {highs[at]}; swap its ends"
        raise PegError(message)
    return arrays
