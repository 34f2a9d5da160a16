"""Where one more visit would teach the club most.

Popular pegs are fished again because they were fished before; a club that wants to
learn spreads its visits. The worth of a visit is the information it is expected to
bring on its peg's catch rate.

References
----------
Fisher information of a Poisson or negative-binomial mean and the gain in a normal
posterior, ``0.5 log(1 + variance x information)``, are textbook results (from memory:
Lindley 1956, Annals of Mathematical Statistics 27:986-1005).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Values = NDArray[np.float64]

VISIT_H = 4.0
"""Hours of the visit that is asked about; our proposal."""

PEG_SD = 0.6
"""Spread between pegs, in logs, where no ranker was fitted; our proposal."""


def visit_information(
    rate: ArrayLike, log_sd: ArrayLike, *, hours: float = VISIT_H, clump: float = np.inf
) -> Values:
    """Return what one visit is expected to teach of each peg's catch rate, nats.

    Parameters
    ----------
    rate : array
        Expected fish an hour.
    log_sd : array
        Standard error of its logarithm.
    hours : float, default=4
        Hours of the visit.
    clump : float, default=inf
        The negative binomial's shape: the smaller, the less one bag tells.

    Returns
    -------
    float64 array
        ``NaN`` where either is unknown.

    Examples
    --------
    A well-known peg and one that nobody fished, four fish expected from each:

    >>> visit_information([1.0, 1.0], [0.1, 1.0]).round(3).tolist()
    [0.02, 0.805]
    """
    mean = np.asarray(rate, np.float64) * hours
    told = mean / (1.0 + mean / clump)
    variance = np.asarray(log_sd, np.float64) ** 2
    return np.asarray(0.5 * np.log1p(variance * told))


def untaught_sd(rate: ArrayLike, hours: ArrayLike, *, peg_sd: float = PEG_SD) -> Values:
    """Return the standard error of a peg's log rate after so many hours on it.

    Each expected fish tells as much as one observation of unit variance; without any
    hours the error is the spread between pegs.

    Examples
    --------
    >>> untaught_sd([0.5, 0.5], [0.0, 200.0], peg_sd=0.5).round(3).tolist()
    [0.5, 0.098]
    """
    fish = np.asarray(rate, np.float64) * np.asarray(hours, np.float64)
    return np.asarray(peg_sd / np.sqrt(1.0 + peg_sd**2 * fish))
