"""The channel's axis: a smooth curve with exact projection on to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from layers.errors import LayerError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely import LineString

    Array = NDArray[np.float64]

FINEST_STEP_M, COARSEST_STEP_M = 1.0, 2.0
"""Spacing of the axis' vertices, [P] in the reference notes: 1-2 m."""

NEWTON_STEPS = 8
"""Projections settle to below a micrometre in three or four."""


class Axis:
    """A smooth line through equally spaced vertices, extended straight at both ends.

    Parameters
    ----------
    vertices : array of shape (n, 2)
        Easting and northing, downstream, equally spaced along the line; n >= 4.

    Examples
    --------
    >>> axis = Axis(np.array([[0.0, 0], [1, 0], [2, 0], [3, 0]]))
    >>> chainage_m, offset_m = axis.project([1.5, -2.0], [4.0, -1.0])
    >>> chainage_m.round(6).tolist(), offset_m.round(6).tolist()
    ([1.5, -2.0], [4.0, -1.0])
    """

    def __init__(self, vertices: Array) -> None:
        self.vertices = vertices
        gaps = np.hypot(*np.diff(vertices, axis=0).T)
        self._knots = np.concatenate([[0.0], np.cumsum(gaps)])
        self.length_m = float(self._knots[-1])
        self._step_m = self.length_m / len(gaps)
        # working from the first vertex keeps digits when eastings are in the millions
        self._origin = vertices[0].copy()
        self._curve = CubicSpline(self._knots, vertices - self._origin)
        self._tree = cKDTree(vertices - self._origin)

    @classmethod
    def through(cls, line: LineString, *, smoothing_m: float) -> Axis:
        """Smooth a drawn line and return its axis.

        Parameters
        ----------
        line : LineString
            Drawn downstream, metres.
        smoothing_m : float
            Standard deviation of the Gaussian window along the line. What the
            window took off a bend is given back once ("twicing", Tukey 1977,
            from memory), so that a bend of radius R keeps its radius to about
            ``(smoothing / R) ** 4 / 4``. The two ends stay where they were drawn.

        Raises
        ------
        LayerError
            If the line has no length.
        """
        if not line.length > 0:
            message = (
                f"the centreline is {line.length} m long; "
                "draw a line with at least two different points"
            )
            raise LayerError(message)
        step_m = float(np.clip(smoothing_m / 10, FINEST_STEP_M, COARSEST_STEP_M))
        rough = _resampled(shapely.get_coordinates(line), step_m)
        smooth = _smoothed(rough, smoothing_m * (len(rough) - 1) / line.length)
        return cls(_resampled(smooth, step_m))

    def _derivative(self, chainage_m: Array, order: int) -> Array:
        """Return the curve (order 0, from the origin) or a derivative, (n, 2)."""
        inside = np.clip(chainage_m, 0.0, self.length_m)
        values: Array = np.asarray(self._curve(inside, order), np.float64)
        beyond = chainage_m - inside
        if order == 0:
            values += beyond[:, None] * self.tangents(inside)
        elif order > 1:
            values = np.where(beyond[:, None] == 0, values, 0.0)
        return values

    def points(self, chainage_m: Array) -> Array:
        """Return the world points, shape (n, 2), at chainages of shape (n,)."""
        place: Array = self._derivative(chainage_m, 0) + self._origin
        return place

    def tangents(self, chainage_m: Array) -> Array:
        """Return unit vectors downstream, shape (n, 2)."""
        slope = self._derivative(chainage_m, 1)
        unit: Array = slope / np.hypot(*slope.T)[:, None]
        return unit

    def curvature(self, chainage_m: Array) -> Array:
        """Return the signed curvature, 1/m, positive where the axis turns left."""
        first, second = self._derivative(chainage_m, 1), self._derivative(chainage_m, 2)
        turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        bend: Array = turn / np.hypot(*first.T) ** 3
        return bend

    def beside(self, chainage_m: Array, offset_m: Array) -> Array:
        """Return world points, shape (n, 2), at right angles off the axis, left > 0."""
        along = self.tangents(chainage_m)
        left = np.column_stack([-along[:, 1], along[:, 0]])
        place: Array = self.points(chainage_m) + offset_m[:, None] * left
        return place

    def project(self, easting: ArrayLike, northing: ArrayLike) -> tuple[Array, Array]:
        """Return chainage and offset of points, both of shape (n,).

        The foot of the perpendicular on the smooth curve, found from the nearest
        vertex by Newton's method; before the first and after the last vertex the
        axis goes on straight. Where the perpendicular is not unique (beyond the
        centre of a bend) the nearest vertex decides.
        """
        points = np.column_stack([np.ravel(easting), np.ravel(northing)]).astype(float)
        points -= self._origin
        _, nearest = self._tree.query(points)
        chainage_m = self._settled(points, self._knots[nearest])
        away = points - self._derivative(chainage_m, 0)
        along = self.tangents(chainage_m)
        return chainage_m, along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0]

    def _settled(self, points: Array, start_m: Array) -> Array:
        """Move each start to the foot of its perpendicular, near the start."""
        chainage_m = start_m.copy()
        reach_m = 2 * self._step_m
        lowest_m = np.where(start_m == 0, -np.inf, start_m - reach_m)
        highest_m = np.where(start_m == self._knots[-1], np.inf, start_m + reach_m)
        for _ in range(NEWTON_STEPS):
            away = points - self._derivative(chainage_m, 0)
            first = self._derivative(chainage_m, 1)
            second = self._derivative(chainage_m, 2)
            speed = (first**2).sum(axis=1)
            # 0.05: past the centre of the bend the step would run the wrong way
            stiffness = np.maximum(speed - (away * second).sum(axis=1), 0.05 * speed)
            chainage_m += (away * first).sum(axis=1) / stiffness
            chainage_m = np.clip(chainage_m, lowest_m, highest_m)
        return chainage_m


def _resampled(vertices: Array, step_m: float) -> Array:
    """Return a polyline's points at equal spacing close to ``step_m``, ends kept."""
    gaps = np.hypot(*np.diff(vertices, axis=0).T)
    keep = np.concatenate([[True], gaps > 0])
    vertices, gaps = vertices[keep], gaps[gaps > 0]
    along = np.concatenate([[0.0], np.cumsum(gaps)])
    count = max(4, round(along[-1] / step_m) + 1)
    wanted = np.linspace(0.0, along[-1], count)
    columns = [np.interp(wanted, along, vertices[:, axis]) for axis in (0, 1)]
    return np.column_stack(columns)


def _smoothed(vertices: Array, window: float) -> Array:
    """Return vertices smoothed over ``window`` of them; the ends do not move."""
    first = vertices[0].copy()
    margin = int(4 * window) + 1
    # an odd reflection goes straight on through the end, and so leaves it in place
    padded = np.pad(
        vertices - first,
        ((margin, margin), (0, 0)),
        mode="reflect",
        reflect_type="odd",
    )
    once = gaussian_filter1d(padded, window, axis=0, mode="nearest")
    twice = once + gaussian_filter1d(padded - once, window, axis=0, mode="nearest")
    smooth: Array = twice[margin:-margin] + first
    smooth[0], smooth[-1] = vertices[0], vertices[-1]
    return smooth
