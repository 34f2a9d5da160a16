"""How much streamlines bend beyond the bend of the channel itself.

Water that gathers into a pool or makes way for a bar turns too, and the surface
tilts for it. A streamline follows equal cumulative discharge; its angle to the
channel's lines and the change of that angle along the river are smoothed, for
they are second differences of a field that is itself a result.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STEEPEST = 0.7
"""The greatest tangent of a streamline's angle to the channel's lines (proposal)."""
SMOOTHING_WIDTHS = 0.3
"""Standard deviation of the smoothing along the river, in widths. Between a quarter
and two thirds of a width the speeds of two simulated rivers came out alike."""
LEAST_SHARE = 1e-3
"""A node with less than this share of the section's mean flow gives no angle of its
own."""


def streamline_curvature(
    passing: Array, strip_m: Array, length_m: Array, step_m: float
) -> Array:
    """Return the curvature of streamlines against the channel's lines, 1/m.

    Parameters
    ----------
    passing : array of float, shape (sections, nodes)
        Flow through each node's strip, in any unit; 0 where dry.
    strip_m : array of float, shape (sections, nodes)
        The strips' width.
    length_m : array of float, shape (sections, nodes)
        Distance along each node's line from section to section.
    step_m : float
        The same along the axis.

    Returns
    -------
    array of float, shape (sections, nodes)
        Positive where streamlines turn to the left.

    Examples
    --------
    Flow that keeps its place does not turn:

    >>> one = np.ones((9, 5))
    >>> still = streamline_curvature(one, one, one, 1.0)
    >>> float(np.abs(still).max())
    0.0
    """
    wet = passing > 0
    tube = np.cumsum(passing, axis=1) - passing / 2
    spread = length_m / step_m
    aside = -np.gradient(tube, step_m, axis=0) / spread
    dry = np.pad(~wet.any(axis=1), 1, mode="edge")
    aside[dry[:-2] | dry[1:-1] | dry[2:]] = 0.0  # nothing to compare with
    wide_m = np.where(wet, strip_m, 0.0).sum(axis=1, keepdims=True)
    mean = passing.sum(axis=1, keepdims=True) / np.maximum(wide_m, 1e-9)
    dense = np.maximum(passing / np.maximum(strip_m, 1e-9), LEAST_SHARE * mean + 1e-30)
    angle = np.where(wet, aside / dense, 0.0)
    width_m = float(np.median(wide_m))
    smooth = max(SMOOTHING_WIDTHS * width_m / step_m, 1.0)
    angle = ndimage.gaussian_filter1d(
        np.clip(angle, -STEEPEST, STEEPEST), smooth, axis=0
    )
    turning: Array = np.gradient(angle, step_m, axis=0) / spread
    return turning
