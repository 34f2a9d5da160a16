"""The law of a visit's catch: negative binomial, and how clumped it is.

References
----------
Hilbe 2011, *Negative Binomial Regression* (from memory): the NB2 law, variance
``mu + mu^2 / k``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.special import gammaln, xlogy

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Values = NDArray[np.float64]

CLUMP, CLUMP_SD = 1.2, 0.5
"""Prior of the NB size k: log-normal round 1.2; our proposal.

Angling counts are "highly contagious" (Terceiro 2003, from memory); k near 1 is usual.
"""

CLUMP_BOUNDS = (0.02, 1e4)
NODES = 5


def log_likelihood(fish: Values, mean: Values, clump: float) -> Values:
    """Return the log-probability of each count; ``clump`` infinite is Poisson.

    Examples
    --------
    With k = 1 the law is geometric: no fish of mean 1 has probability a half.

    >>> import numpy as np
    >>> float(np.exp(log_likelihood(np.array([0.0]), np.array([1.0]), 1.0))[0])
    0.5
    """
    if np.isinf(clump):
        return np.asarray(xlogy(fish, mean) - mean - gammaln(fish + 1))
    ways = gammaln(fish + clump) - gammaln(clump) - gammaln(fish + 1)
    none = -clump * np.log1p(mean / clump)
    return np.asarray(ways + none + xlogy(fish, mean / (mean + clump)))


def best_clump(
    fish: Values,
    log_mean: Values,
    spread: Values,
    weight: Values,
    *,
    clump_sd: float = CLUMP_SD,
) -> float:
    """Return the size k of counts about means that are known with an error.

    At the best-fitting means alone the counts look less clumped than they are, as the
    many effects bend towards them; so the likelihood is averaged over the errors.

    Parameters
    ----------
    fish, weight : array (visit,)
    log_mean, spread : array (visit,)
        Logarithm of each expected catch, and the variance of that.
    clump_sd : float
        Spread of the prior of log k; infinite is plain maximum likelihood.
    """
    nodes, share = np.polynomial.hermite_e.hermegauss(NODES)
    mean = np.exp(log_mean + np.sqrt(np.maximum(spread, 0.0)) * nodes[:, None])

    def badness(log_k: float) -> float:
        logs = log_likelihood(fish, mean, float(np.exp(log_k)))
        fit = share @ (logs @ weight) / share.sum()
        return float(((log_k - np.log(CLUMP)) / clump_sd) ** 2 / 2 - fit)

    low, high = CLUMP_BOUNDS
    found = minimize_scalar(
        badness,
        bounds=(float(np.log(low)), float(np.log(high))),
        method="bounded",
        options={"xatol": 1e-8},
    )
    return float(np.exp(found.x))
