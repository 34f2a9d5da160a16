"""Weighted statistics of cells grouped by swim, for all swims at once.

``values`` holds one value an entry of ``cells``; ``NaN`` is unknown and left out.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np

from pegscore.compiled import runs_compiled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from pegscore.compiled import Engine
    from pegscore.coverage import SwimCells

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


def swim_mean(values: NDArray[np.floating], cells: SwimCells, n_swims: int) -> Floats:
    """Return the weighted mean of the known values in each swim.

    Parameters
    ----------
    values : float array
        One value an entry of ``cells`` (``raster.ravel()[cells.cell]``); ``NaN`` is
        left out.
    cells : SwimCells
        Which swim each entry belongs to, and its weight.
    n_swims : int
        The number of swims.

    Returns
    -------
    float64 array of ``n_swims``
        Between the least and the greatest value; ``NaN`` where nothing is known.

    Examples
    --------
    A whole cell of 1 m and a quarter of a cell of 6 m; the third is unknown:

    >>> from pegscore.coverage import SwimCells
    >>> cells = SwimCells(np.array([0, 0, 0, 1]), np.arange(4),
    ...                   np.array([1.0, 0.25, 1.0, 1.0]))
    >>> swim_mean(np.array([1.0, 6.0, np.nan, np.nan]), cells, 2)
    array([ 2., nan])
    """
    known = cells.only(~np.isnan(values))
    weighed = known.weight * values[~np.isnan(values)]
    total = np.bincount(known.swim, weighed, n_swims)
    return _divided(total, np.bincount(known.swim, known.weight, n_swims))


def swim_deviation(
    values: NDArray[np.floating], cells: SwimCells, n_swims: int
) -> Floats:
    """Return the weighted standard deviation of the known values in each swim.

    The spread over the swim's area (divided by the total weight, not by one less).
    Parameters and ``NaN`` as in ``swim_mean``.
    """
    off = values - swim_mean(values, cells, n_swims)[cells.swim]
    return np.asarray(np.sqrt(swim_mean(off**2, cells, n_swims)))


def swim_quantiles(
    values: NDArray[np.floating],
    cells: SwimCells,
    n_swims: int,
    shares: Sequence[float] = (0.1, 0.5, 0.9),
    engine: Engine = "auto",
) -> Floats:
    """Return weighted quantiles of the known values in each swim.

    Parameters
    ----------
    values, cells, n_swims
        As in ``swim_mean``.
    shares : sequence of float in [0, 1], default=(0.1, 0.5, 0.9)
        The quantiles that are wanted.
    engine : {"auto", "compiled", "numpy"}, default="auto"
        Who does it, see ``pegscore.compiled``: by selection, or by sorting.

    Returns
    -------
    float64 array of (n_swims, len(shares))
        Never falling along a row for rising shares; ``NaN`` where nothing is known.

    Notes
    -----
    Of ``n`` values in order, the ``k``-th (from 1) stands at ``S(k) = (k - 1) w(k) +
    (n - 1) (w(1) + ... + w(k - 1))``, and the quantile ``p`` is read by straight
    lines at ``p S(n)``. With equal weights this is the usual sample quantile, the
    default of ``numpy.quantile``; with weights it is that of exactextract.

    Examples
    --------
    >>> from pegscore.coverage import SwimCells
    >>> cells = SwimCells(np.zeros(3, int), np.arange(3), np.ones(3))
    >>> swim_quantiles(np.array([3.0, 1.0, 2.0]), cells, 1, shares=[0.0, 0.5, 0.75])
    array([[1. , 2. , 2.5]])
    """
    if runs_compiled(engine, len(cells)):
        start = np.searchsorted(cells.swim, np.arange(n_swims + 1)).astype(np.int64)
        summaries = import_module("pegscore.selection").summaries
        found = summaries(values, start, cells.weight, np.asarray(shares, np.float64))
        return np.asarray(found[:, 3:], np.float64)
    known = cells.only(~np.isnan(values))
    value = np.asarray(values[~np.isnan(values)], np.float64)
    order = np.lexsort((value, known.swim))
    swim, value = known.swim[order], value[order]
    place = _places(swim, known.weight[order], n_swims)
    last = np.cumsum(np.bincount(swim, minlength=n_swims)) - 1
    found = np.full((n_swims, len(shares)), np.nan)
    filled = np.unique(swim)
    for column, share in enumerate(shares):
        wanted = 2 * filled + share
        upper = np.searchsorted(2 * swim + place, wanted, side="right")
        upper = np.minimum(upper, last[filled])
        lower = np.where(swim[upper - 1] == filled, upper - 1, upper)
        along = _divided(share - place[lower], place[upper] - place[lower], 0.0)
        rise = value[upper] - value[lower]
        found[filled, column] = value[lower] + along.clip(0.0, 1.0) * rise
    return found


def _places(swim: Ints, weight: Floats, n_swims: int) -> Floats:
    """Return ``S(k) / S(n)`` of sorted entries: from 0 to 1 in each swim."""
    count = np.bincount(swim, minlength=n_swims)
    first = (np.cumsum(count) - count)[swim]
    before = np.cumsum(weight) - weight
    nth = np.arange(len(swim)) - first
    place = nth * weight + (count[swim] - 1) * (before - before[first])
    return _divided(place, place[first + count[swim] - 1], 0.0)


def _divided(above: ArrayLike, below: ArrayLike, otherwise: float = np.nan) -> Floats:
    """Return the quotient, and ``otherwise`` where the divisor is not positive."""
    above, below = np.asarray(above, np.float64), np.asarray(below, np.float64)
    quotient = np.full(above.shape, otherwise)
    np.divide(above, below, out=quotient, where=below > 0)
    return quotient
