"""A line through scattered values by least squares with priors, wild ones drawn in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

WILD = 1.5
"""Beyond so many standard deviations a value counts less, by the square (proposal)."""
MAD_TO_SD = 1.4826
ROUNDS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """A normal prior: what is believed before anything is measured."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line's height at zero, the height's standard error, and its slope."""

    height: float
    height_sd: float
    slope: float


def robust_line(
    x: Array, y: Array, *, height: Prior, slope: Prior, least_sd: float
) -> Line:
    """Fit ``y = height + slope * x`` and return it with the height's error.

    Parameters
    ----------
    x, y : array of float, shape (n,)
        At least one value.
    height, slope : Prior
        What is believed beforehand.
    least_sd : float
        The scatter of ``y`` is not believed to be less.

    Examples
    --------
    Vague priors, one wild value in five:

    >>> vague = Prior(mean=0.0, sd=1e6)
    >>> flat = Prior(mean=0.0, sd=1e-9)
    >>> y = np.array([1.0, 1.1, 0.9, 1.0, 9.0])
    >>> fit = robust_line(np.zeros(5), y, height=vague, slope=flat, least_sd=0.1)
    >>> round(fit.height, 2), round(fit.height_sd, 2)
    (1.0, 0.07)
    """
    design = np.column_stack([np.ones(x.size), x])
    precision = np.diag([height.sd**-2, slope.sd**-2])
    pulled = precision @ np.array([height.mean, slope.mean])
    found = np.array([np.median(y), slope.mean])
    for _ in range(ROUNDS):
        missed = y - design @ found
        sd = max(MAD_TO_SD * float(np.median(np.abs(missed))), least_sd)
        weight = np.minimum(1.0, (WILD * sd / np.maximum(np.abs(missed), sd)) ** 2)
        normal = (design.T * (weight / sd**2)) @ design + precision
        found = np.linalg.solve(normal, design.T @ (weight * y) / sd**2 + pulled)
    error = float(np.sqrt(np.linalg.inv(normal)[0, 0]))
    return Line(height=float(found[0]), height_sd=error, slope=float(found[1]))
