"""How far an interpolated bed may be out: learnt from soundings left out.

Whole lines left out show the error far from soundings, single soundings left
out the error near them. Between the two the error grows with the distance to
the nearest sounding, in the frame the bed was interpolated in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import isotonic_regression
from scipy.spatial import cKDTree

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BAND = 0.80
"""The share of errors that the calibrated interval is to hold."""

Z_80 = 1.2815515655446004
"""Half width, in standard deviations, of a normal law's 80 % interval."""

CLASS_SIZE = 40
"""Errors in one class of distance, at least."""

MOST_CLASSES = 8
"""Classes of distance, at most: our own choice."""

LOCAL_COUNT = 12
"""Errors round a place that say how rough the bed is there."""

PRIOR_COUNT = 12.0
"""Weight of the whole river's roughness beside those, as a count of errors."""

FLOOR_M = 0.02
"""No bed is known better than this: our own choice."""

SHORTEST_OVERHANG_M = 0.5
"""A shorter overhang is within a sounding's error of position: our own choice."""

FEWEST_ERRORS = 10
"""Fewer errors than this teach nothing."""

GENTLEST_BANK = 0.35
"""Growth of the error beyond the last sounding, m per m, at least: banks steepen
towards the edge, where no line ends; our own choice."""

FALLBACK_SLOPE = 0.3
"""Growth of the error beyond the last sounding where nothing was learnt, m per m."""

FALLBACK_SD_M = 0.5
"""Where too few soundings could be left out to learn from: our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Soundings that were predicted from others.

    Parameters
    ----------
    places : array of shape (n, 2)
        Where, in the frame of the interpolation.
    errors_m : array of shape (n,)
        Measured less predicted bed; no ``NaN``.
    distance_m : array of shape (n,)
        To the nearest sounding used, in the same frame.
    overhang_m : array of shape (n,)
        How far it lies beyond the soundings used, across the river.
    noise_m : array of shape (n,)
        The left-out sounding's own standard error, which is part of the error.
    """

    places: Array
    errors_m: Array
    distance_m: Array
    overhang_m: Array
    noise_m: Array

    @classmethod
    def of(cls, parts: Sequence[LeftOut]) -> LeftOut:
        """Join what several folds showed."""
        names = ("places", "errors_m", "distance_m", "overhang_m", "noise_m")
        return cls(
            **{
                name: np.concatenate([getattr(part, name) for part in parts])
                for name in names
            }
        )


def isolation(known: Array, wanted: Array) -> tuple[Array, Array]:
    """Return how far places are from known ones, and beyond them across the river.

    Parameters
    ----------
    known, wanted : array of shape (n, 2) and (m, 2)
        In the frame of the interpolation; the second column runs across.

    Returns
    -------
    distance_m, overhang_m : array of shape (m,)
        To the nearest known place; beyond the range across of the
        ``LOCAL_COUNT`` nearest, 0 within it.

    Examples
    --------
    >>> known = np.array([[0.0, -2.0], [0.0, 2.0], [4.0, 2.0]])
    >>> [part.tolist() for part in isolation(known, np.array([[0.0, 5.0]]))]
    [[3.0], [3.0]]
    """
    count = min(LOCAL_COUNT, len(known))
    found = cKDTree(known).query(wanted, k=count)
    shape = len(wanted), count
    distance_m = np.asarray(found[0]).reshape(shape)[:, 0]
    across = known[np.asarray(found[1]).reshape(shape), 1]
    over = np.maximum(
        wanted[:, 1] - across.max(axis=1), across.min(axis=1) - wanted[:, 1]
    )
    return distance_m, np.maximum(over, 0.0)


class BedError:
    """The standard error of a bed by distance and place.

    Parameters
    ----------
    seen : LeftOut
        Errors to learn from.

    Notes
    -----
    In classes of distance the 80 % quantile of the error's size, over 1.2816,
    less the soundings' own noise; made to grow with distance and joined by
    straight lines, from half the noise at a sounding. Then multiplied by how
    rough the bed near the place is, compared with the river as a whole, drawn
    towards 1. Beyond the last sounding across, a share of the distance beyond is
    added in squares: what the last soundings of the lines missed, left out.

    Examples
    --------
    >>> at = np.column_stack([np.arange(200.0), np.zeros(200)])
    >>> size = np.linspace(0.0, 0.5, 200)  # 80 % of them are below 0.4 m
    >>> error = BedError(LeftOut(places=at, errors_m=np.random.default_rng(1)
    ...     .permutation(size), distance_m=np.ones(200), overhang_m=np.zeros(200),
    ...     noise_m=np.zeros(200)))
    >>> round(float(error.typical_m(np.array([1.0]))[0]) * Z_80, 9)
    0.4
    """

    def __init__(self, seen: LeftOut) -> None:
        self._distance_m, self._sd_m = _growth(seen)
        usual_m = np.hypot(self.typical_m(seen.distance_m), seen.noise_m)
        self._bank_slope = _bank_slope(seen, usual_m)
        within = seen.overhang_m == 0
        # a single wild echo must not stain its surroundings: 3 sd at most
        strange = np.minimum(np.abs(seen.errors_m) / usual_m, 3.0)[within] ** 2
        self._strange, self._tree = strange, None
        if len(strange):
            self._tree = cKDTree(seen.places[within])

    def typical_m(self, distance_m: Array) -> Array:
        """Return the river's usual standard error at distances, metres."""
        usual = np.interp(distance_m, self._distance_m, self._sd_m)
        beyond = np.maximum(distance_m / self._distance_m[-1], 1.0)
        grown: Array = usual * beyond
        return grown

    def at(self, places: Array, distance_m: Array, overhang_m: Array) -> Array:
        """Return the standard error at places, metres; see :func:`isolation`."""
        within_m = self.typical_m(distance_m) * self._roughness(places)
        error_m = np.hypot(within_m, self._bank_slope * overhang_m)
        return np.maximum(error_m, FLOOR_M)

    def _roughness(self, places: Array) -> Array:
        """Return how rough the bed is near places; 1 is usual."""
        if self._tree is None:
            return np.ones(len(places))
        count = min(LOCAL_COUNT, len(self._strange))
        _, near = self._tree.query(places, k=count)
        around = self._strange[np.asarray(near).reshape(len(places), count)]
        usual = float(self._strange.mean()) * count + PRIOR_COUNT
        ratio: Array = np.sqrt((around.sum(axis=1) + PRIOR_COUNT) / usual)
        return ratio


def _growth(seen: LeftOut) -> tuple[Array, Array]:
    """Return distances and the standard error at each, growing."""
    within = np.flatnonzero(seen.overhang_m == 0)
    if len(within) < FEWEST_ERRORS:
        return np.array([1.0]), np.array([FALLBACK_SD_M])
    order = within[np.argsort(seen.distance_m[within], kind="stable")]
    classes = np.array_split(
        order, int(np.clip(len(order) // CLASS_SIZE, 1, MOST_CLASSES))
    )
    distance_m = [float(np.median(seen.distance_m[part])) for part in classes]
    spread_m = [_spread_m(seen, part) for part in classes]
    at_once_m = min(0.5 * float(np.median(seen.noise_m)), spread_m[0])
    apart = np.maximum.accumulate([0.0, *distance_m])
    apart += 1e-6 * np.arange(len(apart))  # classes of one distance stay in order
    # growing, yet on the whole no larger: a running maximum would pick the unlucky
    weights = [len(part) for part in classes]
    growing_m = isotonic_regression(spread_m, weights=weights).x
    return apart, np.concatenate([[min(at_once_m, growing_m[0])], growing_m])


def _spread_m(seen: LeftOut, part: NDArray[np.int64]) -> float:
    """Return the bed's own standard error in one class of distance."""
    size = float(np.quantile(np.abs(seen.errors_m[part]), BAND)) / Z_80
    noise = float(np.sqrt(np.mean(seen.noise_m[part] ** 2)))
    return max(float(np.sqrt(max(size**2 - noise**2, 0.0))), 0.5 * noise, FLOOR_M)


def _bank_slope(seen: LeftOut, usual_m: Array) -> float:
    """Return the error's growth beyond the last sounding across, m per m."""
    beyond = seen.overhang_m > SHORTEST_OVERHANG_M
    if beyond.sum() < FEWEST_ERRORS:
        return FALLBACK_SLOPE
    known_m = Z_80 * usual_m[beyond]
    excess = np.maximum(np.abs(seen.errors_m[beyond]) ** 2 - known_m**2, 0.0)
    slope = np.quantile(np.sqrt(excess) / seen.overhang_m[beyond], BAND)
    return max(float(slope) / Z_80, GENTLEST_BANK)
