"""Which two places may not both hold a peg, and how those pairs hang together.

Two pegs of one bank may not lie nearer than the spacing in a straight line, which is
never more than along the bank. Two pegs on opposite banks may not fish the same
water: their swims may not overlap.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.spatial import KDTree

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

SLACK_M = 0.001
"""Less than this is rounding of coordinates, not a broken spacing."""

LEAST_OVERLAP_M2 = 0.01
"""Swims that share less only touch; a sliver of clipping, as in ``reach``."""


def too_close(
    easting: Floats, northing: Floats, bank: NDArray[np.object_], spacing_m: float
) -> Ints:
    """Return the pairs of one bank that lie nearer than the spacing, (n, 2).

    Examples
    --------
    >>> import numpy as np
    >>> bank = np.array(["left", "left", "left", "right"])
    >>> too_close(np.array([0.0, 9.0, 19.0, 1.0]), np.zeros(4), bank, 10.0).tolist()
    [[0, 1]]
    """
    tree = KDTree(np.column_stack([easting, northing]))
    pairs = tree.query_pairs(max(spacing_m - SLACK_M, 0.0), output_type="ndarray")
    pairs = pairs[np.lexsort(pairs.T[::-1])]
    return np.asarray(pairs[bank[pairs[:, 0]] == bank[pairs[:, 1]]], np.int64)


def facing(swims: gpd.GeoSeries, bank: NDArray[np.object_]) -> Ints:
    """Return the pairs of opposite banks whose swims overlap, (n, 2)."""
    shapes = np.asarray(swims.array, object)
    left, right = (np.flatnonzero(bank == side) for side in ("left", "right"))
    tree = shapely.STRtree(shapes[right])
    one, other = tree.query(shapes[left], "intersects")
    one, other = left[one], right[other]
    shared_m2 = shapely.area(shapely.intersection(shapes[one], shapes[other]))
    pairs = np.column_stack([one, other])[shared_m2 > LEAST_OVERLAP_M2]
    return np.asarray(pairs, np.int64)


def matrix_of(pairs: Ints, count: int) -> Bools:
    """Return pairs as a symmetric (count, count) matrix."""
    matrix = np.zeros((count, count), bool)
    matrix[pairs[:, 0], pairs[:, 1]] = matrix[pairs[:, 1], pairs[:, 0]] = True
    return matrix


def last_compatible(matrix: Bools) -> Ints | None:
    """Return, for places in order, the last earlier one that each goes with.

    Returns
    -------
    int64 array or None
        -1 where there is none. None if a place that conflicts with an earlier one
        goes with one in between, as on a hairpin: then checking neighbours in the
        order is not enough.

    Examples
    --------
    >>> matrix = matrix_of(np.array([[0, 1], [1, 2]]), 3)
    >>> last_compatible(matrix).tolist()
    [-1, -1, 0]
    """
    count = len(matrix)
    if not count:
        return np.empty(0, np.int64)
    before = np.tril(matrix, -1)
    first = np.where(before.any(axis=1), before.argmax(axis=1), np.arange(count))
    together = before.sum(axis=1) == np.arange(count) - first
    return np.asarray(first - 1, np.int64) if together.all() else None


def cliques_of(matrix: Bools, along: Floats) -> csr_array:
    """Return groups of which at most one place can hold a peg, one a row.

    Every conflicting pair lies in a group. Groups are as large as a sweep along the
    river makes them, so that a linear relaxation is tight: on one bank it is exact.

    Parameters
    ----------
    matrix : bool array (place, place)
        Symmetric, which pairs conflict.
    along : float array (place,)
        The order of the sweep, metres down the river.
    """
    order = np.argsort(along, kind="stable")
    ordered = matrix[np.ix_(order, order)]
    left = np.triu(ordered)
    groups = []
    for first in range(len(order)):
        groups.extend(_groups_from(first, ordered, left))
    sizes = [len(group) for group in groups]
    column = order[np.concatenate([*groups, np.empty(0, np.int64)]).astype(np.int64)]
    row = np.repeat(np.arange(len(groups)), sizes)
    shape = (len(groups), len(order))
    return csr_array((np.ones(len(row)), (row, column)), shape)


def _groups_from(first: int, matrix: Bools, left: Bools) -> list[list[int]]:
    """Cover what is left of a place's conflicts with later ones by groups."""
    groups = []
    while left[first].any():
        group = [first, int(left[first].argmax())]
        common = matrix[first] & matrix[group[1]]
        common[: first + 1] = False
        while common.any():
            group.append(int(common.argmax()))
            common &= matrix[group[-1]]
        left[np.ix_(group, group)] = False
        groups.append(group)
    return groups
