"""A penalised count regression: the arithmetic under the ranker, arrays alone.

``y ~ NB(mu, k)``, ``log mu = offset + X b``, with each coefficient drawn from a normal
law of its block's mean and spread. The spreads are learnt from the data (empirical
Bayes), the coefficients by Newton steps, and their covariance is Laplace's:
``(X'WX + P)^-1`` at the maximum.

References
----------
Fellner 1986 and Schall 1991 (from memory): the fixed-point step for the spreads.
Hilbe 2011, *Negative Binomial Regression* (from memory): the NB2 law, variance
``mu + mu^2 / k``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.linalg.lapack import dpotri

from pegscore.count_law import CLUMP, CLUMP_SD, best_clump, log_likelihood
from pegscore.rate_columns import Columns

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Values = NDArray[np.float64]

HALVINGS = 30
LARGEST_LOG = 30.0
"""Logarithms of a mean are held within this of 0, so that no step overflows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Coefficients that share a prior: normal round ``mean`` with spread ``sd``.

    An infinite ``sd`` is no penalty. With ``weight`` above zero the spread is learnt,
    ``sd`` being its prior guess that counts as much as ``weight`` coefficients.
    """

    size: int
    mean: float = 0.0
    sd: float = np.inf
    weight: float = 0.0

    @property
    def precision(self) -> float:
        """Return ``1 / sd^2``; 0 if there is no penalty."""
        return 0.0 if np.isinf(self.sd) else 1.0 / self.sd**2


@dataclass(frozen=True, slots=True, kw_only=True)
class RateFit:
    """What a fit found: ``coef`` (p), ``covariance`` (p, p), size k, spreads."""

    coef: Values
    covariance: Values
    clump: float
    sds: tuple[float, ...]
    n_iter: int
    converged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """The data: design (n, p), fish (n), offset (n), weight (n)."""

    design: Values | Columns
    fish: Values
    offset: Values
    weight: Values

    def log_mean(self, coef: Values) -> Values:
        """Return the logarithm of the expected fish."""
        logs: Values = self.offset + (
            self.design.times(coef)
            if isinstance(self.design, Columns)
            else self.design @ coef
        )
        return np.clip(logs, -LARGEST_LOG, LARGEST_LOG)

    def pull(self, values: Values) -> Values:
        """Return ``X' v``."""
        if isinstance(self.design, Columns):
            return self.design.pull(values)
        return np.asarray(self.design.T @ values)

    def gram(self, weight: Values) -> Values:
        """Return ``X' W X``."""
        if isinstance(self.design, Columns):
            return self.design.gram(weight)
        root = np.sqrt(weight)[:, None] * self.design
        return np.asarray(root.T @ root)

    def spread(self, covariance: Values) -> Values:
        """Return the variance of each log mean."""
        if isinstance(self.design, Columns):
            return self.design.spread(covariance)
        return np.asarray(np.sum((self.design @ covariance) * self.design, axis=1))


def fit_rates(
    data: Counts,
    blocks: Sequence[Block],
    *,
    clump: float | None = None,
    clump_sd: float = CLUMP_SD,
    max_iter: int = 50,
    tol: float = 1e-6,
) -> RateFit:
    """Fit the coefficients, the spreads of their blocks and the size k.

    Parameters
    ----------
    data : Counts
    blocks : sequence of Block
        In the order of the design's columns, sizes adding up to their number.
    clump : float, optional
        The size k, held fixed; infinite is Poisson. Learnt if None.
    clump_sd : float
        Spread of the prior of log k; infinite is plain maximum likelihood.
    max_iter : int
    tol : float
        The largest change of a log mean that counts as done.
    """
    guesses = tuple(blocks)
    blocks = guesses
    size = CLUMP if clump is None else clump
    coef = _start(data, blocks)
    steps, change = 0, np.inf
    while steps < max_iter and change >= tol:
        steps += 1
        before = data.log_mean(coef)
        coef = _newton(data, blocks, coef, size)
        covariance = _covariance(data, blocks, coef, size)
        blocks = _relearnt(guesses, blocks, coef, covariance)
        if clump is None:
            spread = data.spread(_given_free(covariance, blocks))
            size = best_clump(
                data.fish, data.log_mean(coef), spread, data.weight, clump_sd=clump_sd
            )
        change = float(np.max(np.abs(data.log_mean(coef) - before), initial=0.0))
    return RateFit(
        coef=coef,
        covariance=_covariance(data, blocks, coef, size),
        clump=size,
        sds=tuple(block.sd for block in blocks),
        n_iter=steps,
        converged=change < tol,
    )


def _start(data: Counts, blocks: Sequence[Block]) -> Values:
    """Start from least squares on the logarithms, near enough for Newton's steps."""
    means, precision = _penalty(blocks)
    logs = np.log(data.fish + 0.5) - data.offset
    curvature = data.gram(data.weight)
    right = data.pull(data.weight * logs) + precision * means
    return np.asarray(cho_solve(_factor(curvature, precision), right))


def _penalty(blocks: Sequence[Block]) -> tuple[Values, Values]:
    means = np.concatenate([np.full(block.size, block.mean) for block in blocks])
    precision = np.concatenate(
        [np.full(block.size, block.precision) for block in blocks]
    )
    return means, precision


def _newton(
    data: Counts, blocks: Sequence[Block], coef: Values, clump: float
) -> Values:
    """Take one step uphill, halved until the penalised likelihood rises."""
    means, precision = _penalty(blocks)
    mean = np.exp(data.log_mean(coef))
    slope = data.weight * (data.fish - mean) / (1 + mean / clump)
    gradient = data.pull(slope) - precision * (coef - means)
    step = cho_solve(_factor(_curvature(data, mean, clump), precision), gradient)
    start = _objective(data, coef, clump, means, precision)
    for _ in range(HALVINGS):
        if _objective(data, coef + step, clump, means, precision) >= start:
            return np.asarray(coef + step)
        step = step / 2
    return coef


def _objective(
    data: Counts, coef: Values, clump: float, means: Values, precision: Values
) -> float:
    mean = np.exp(data.log_mean(coef))
    fit = data.weight @ log_likelihood(data.fish, mean, clump)
    return float(fit - 0.5 * precision @ (coef - means) ** 2)


def _curvature(data: Counts, mean: Values, clump: float) -> Values:
    weight = data.weight * mean / (1 + mean / clump)
    return data.gram(weight)


def _factor(curvature: Values, precision: Values) -> tuple[Values, bool]:
    filled = curvature + np.diag(precision)
    filled.flat[:: len(filled) + 1] += 1e-10 * (1 + np.diag(curvature))
    factor: tuple[Values, bool] = cho_factor(filled)
    return factor


def _covariance(
    data: Counts, blocks: Sequence[Block], coef: Values, clump: float
) -> Values:
    mean = np.exp(data.log_mean(coef))
    return _inverse(_factor(_curvature(data, mean, clump), _penalty(blocks)[1]))


def _inverse(factor: tuple[Values, bool]) -> Values:
    """Invert from a factor: a third of the work of solving for each unit vector."""
    half, low = factor
    found, trouble = dpotri(half, lower=low)
    if trouble:
        return np.asarray(cho_solve(factor, np.eye(len(half))))
    kept = np.tril(found) if low else np.triu(found)
    return np.asarray(kept + kept.T - np.diag(np.diag(kept)))


def _relearnt(
    guesses: Sequence[Block],
    blocks: Sequence[Block],
    coef: Values,
    covariance: Values,
) -> tuple[Block, ...]:
    """Mix what each block's coefficients show with its prior guess."""
    found, start, variance = [], 0, np.diag(covariance)
    for guess, block in zip(guesses, blocks, strict=True):
        end = start + block.size
        found.append(_mixed(guess, block, coef[start:end], variance[start:end]))
        start = end
    return tuple(found)


def _mixed(guess: Block, block: Block, coef: Values, variance: Values) -> Block:
    if guess.weight <= 0 or block.size == 0:
        return block
    free = max(block.size - block.precision * float(variance.sum()), 0.0)
    squares = float(np.sum((coef - block.mean) ** 2))
    total = squares + guess.weight * guess.sd**2
    return replace(block, sd=float(np.sqrt(total / (free + guess.weight))))


def _given_free(covariance: Values, blocks: Sequence[Block]) -> Values:
    """Return the covariance of the shrunken coefficients, the free ones held."""
    free = _penalty(blocks)[1] == 0.0
    if not free.any():
        return covariance
    across = covariance[:, free]
    held = np.linalg.solve(covariance[np.ix_(free, free)], across.T)
    return np.asarray(covariance - across @ held)
