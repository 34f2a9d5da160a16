"""Surfaces through scattered points: thin plates and triangles, plain arrays.

Places are arrays of shape (n, 2) in metres, in whatever frame the caller chose;
no place occurs twice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.interpolate import (
    LinearNDInterpolator,
    NearestNDInterpolator,
    RBFInterpolator,
)
from scipy.spatial import QhullError, cKDTree
from threadpoolctl import threadpool_limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NEIGHBOURS = 40
"""How many points a thin plate is bent through, reference notes 5.2 [P]."""

OVERSHOOT_M = 0.3
"""How far a surface may leave the range of its neighbours, notes 5.4 [P]."""

FEWEST = 4
"""Points below which no plane is fitted and the nearest value is used."""


def thin_plate(
    places: Array,
    values: Array,
    wanted: Array,
    *,
    smoothing: Array | float = 0.0,
    neighbours: int = NEIGHBOURS,
    overshoot_m: float = OVERSHOOT_M,
) -> Array:
    """Return the surface at ``wanted`` of a thin plate through near points.

    Parameters
    ----------
    places, values : array of shape (n, 2) and (n,)
        The points.
    wanted : array of shape (m, 2)
        Where the surface is wanted.
    smoothing : float or array of shape (n,), default=0
        How much a plate may miss each point; 0 goes through it.
    neighbours : int, default=40
        Each wanted place uses the plate through this many nearest points.
    overshoot_m : float, default=0.3
        The result is kept within the neighbours' range and this much more.

    Notes
    -----
    Kernel ``r² log r`` and a plane. Where near points lie on one straight line no
    tilt across it is known, and all plates give way to ``-r`` and a constant.
    Time grows with the number of wanted places, not with its square.

    References
    ----------
    Duchon 1977, Splines minimizing rotation-invariant semi-norms (from memory).

    Examples
    --------
    >>> places = np.array([[0.0, 0], [4, 0], [0, 4], [4, 4], [2, 1]])
    >>> plane = 1 + places[:, 0] + 2 * places[:, 1]
    >>> thin_plate(places, plane, np.array([[1.0, 1.0]])).round(9).tolist()
    [4.0]
    """
    if len(values) < FEWEST:
        return nearest(places, values, wanted)
    count = min(neighbours, len(values))
    with threadpool_limits(limits=1):  # thousands of small solves: threads only wait
        try:
            surface = _plate(places, values, smoothing, count)(wanted)
        except np.linalg.LinAlgError:  # places on one straight line: no tilt across
            surface = _string(places, values, smoothing, count)(wanted)
    _, near = cKDTree(places).query(wanted, k=count)
    around = values[np.asarray(near)]
    kept: Array = np.clip(
        surface, around.min(axis=1) - overshoot_m, around.max(axis=1) + overshoot_m
    )
    return kept


def _plate(
    places: Array, values: Array, smoothing: Array | float, count: int
) -> RBFInterpolator:
    """Return the thin plate with a plane underneath."""
    return RBFInterpolator(places, values, neighbors=count, smoothing=smoothing)


def _string(
    places: Array, values: Array, smoothing: Array | float, count: int
) -> RBFInterpolator:
    """Return the stiff string with a constant underneath."""
    return RBFInterpolator(
        places, values, neighbors=count, smoothing=smoothing, kernel="linear", degree=0
    )


def triangulate(places: Array, values: Array, wanted: Array) -> Array:
    """Return the surface of plane triangles; outside them the nearest value.

    Examples
    --------
    >>> places = np.array([[0.0, 0], [4, 0], [0, 4], [4, 4]])
    >>> triangulate(places, places.sum(axis=1), np.array([[1.0, 1.0], [9.0, 9.0]]))
    array([2., 8.])
    """
    try:
        inside = LinearNDInterpolator(places, values)(wanted)
    except (QhullError, ValueError):  # fewer than three points, or all on one line
        return nearest(places, values, wanted)
    outside = np.isnan(inside)
    if outside.any():
        inside[outside] = nearest(places, values, wanted[outside])
    surface: Array = inside
    return surface


def nearest(places: Array, values: Array, wanted: Array) -> Array:
    """Return the value of the nearest point."""
    close: Array = NearestNDInterpolator(places, values)(wanted)
    return close
