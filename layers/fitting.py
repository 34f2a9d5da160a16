"""What measured speeds tell about the roughness of each kind of bottom.

Only the pattern is fitted here, not the discharge: how much slower water runs over
one kind of bottom than the depth and the default roughness would have it. Priors
hold what few measurements cannot tell, and a pattern that does not foretell left-out
stretches better is dropped again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy.optimize import least_squares

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

PRIOR_SD = 0.2
"""Relative doubt about the default roughness of one class against the others'
(proposal; Chow's 1959 table allows about as much either way)."""
FEWEST_A_CLASS = 6
"""Measurements for each class fitted (proposal)."""
LEAST_SHARE = 0.05
"""Classes that cover less of the bed are not fitted (proposal)."""
LEAST_SD = 0.08
"""What timing and the float coefficient leave (proposal)."""
MAD_TO_SD = 1.4826
FOLDS = 5
EARNS = 0.97
"""The pattern must bring the error at left-out stretches below this share."""
STEP = 0.05
ROUNDS = 2
WILD = 3.0


class Misfit(Protocol):
    """Whatever compares measured speeds with the model for given factors."""

    def __call__(self, factors: Mapping[str, float], *, quick: bool) -> Array:
        """Return the logarithm of measured over modelled speed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Factors on the default roughness by class, and what they are worth.

    Parameters
    ----------
    factors : mapping of str to float
        Above 1 is rougher than thought; empty where nothing was fitted.
    error_before, error_after : float
        Relative error of speeds at left-out stretches; ``NaN`` if not looked at.
    """

    factors: Mapping[str, float]
    error_before: float = float("nan")
    error_after: float = float("nan")

    @property
    def note(self) -> tuple[str, ...]:
        """What a reader should know."""
        if not np.isfinite(self.error_before):
            return ()
        said = (
            f"speeds at left-out stretches missed by {self.error_before:.0%} without "
            f"and {self.error_after:.0%} with a fitted roughness by bottom class"
        )
        if not self.factors:
            return (f"roughness: kept as by default, for {said}",)
        fitted = ", ".join(f"{word} x {by:.2f}" for word, by in self.factors.items())
        return (f"roughness: fitted to the measured speeds ({fitted}); {said}",)


def fit_pattern(
    shares: Mapping[str, Array],
    misfit: Misfit,
    chainage_m: Array,
) -> Pattern:
    """Fit the classes' roughness to measured speeds.

    Parameters
    ----------
    shares : mapping of str to array of float, shape (cells,)
        Substrate shares.
    misfit : Misfit
        Compares measurements with the model; quick answers serve for slopes.
    chainage_m : array of float, shape (measurements,)
        Where they lie: stretches of them are left out in turn.
    """
    words = [word for word, share in shares.items() if np.nanmean(share) >= LEAST_SHARE]
    if len(words) < 2 or chainage_m.size < FEWEST_A_CLASS * len(words):  # noqa: PLR2004
        return Pattern(factors={})
    logs = np.zeros(len(words))
    for _ in range(ROUNDS):
        factors = dict(zip(words, np.exp(logs), strict=True))
        found = misfit(factors, quick=False)
        slopes = _slopes(factors, misfit)
        if not logs.any():
            before, after = _left_out(found, slopes, chainage_m)
            if not after < EARNS * before:
                return Pattern(factors={}, error_before=before, error_after=after)
        # what the misfit would be with the default roughness, were it linear
        logs = _solve(found - slopes @ logs, slopes)[0]
    pattern = dict(zip(words, np.exp(logs).tolist(), strict=True))
    return Pattern(factors=pattern, error_before=before, error_after=after)


def _slopes(factors: Mapping[str, float], misfit: Misfit) -> Array:
    """Return how the misfit changes with each factor's logarithm, by quick answers."""
    base = misfit(factors, quick=True)
    columns = [
        (misfit({**factors, word: by * np.exp(STEP)}, quick=True) - base) / STEP
        for word, by in factors.items()
    ]
    return np.column_stack(columns)


def _solve(found: Array, slopes: Array) -> tuple[Array, float]:
    """Return the factors' logarithms and the common misfit that suit robustly."""
    spread = MAD_TO_SD * float(np.median(np.abs(found - np.median(found))))
    noise = max(spread, LEAST_SD)

    def residual(guess: Array) -> Array:
        missed = (found + slopes @ guess[:-1] - guess[-1]) / noise
        return np.concatenate([missed, guess[:-1] / PRIOR_SD])

    start = np.append(np.zeros(slopes.shape[1]), np.median(found))
    solution = least_squares(residual, start, loss="soft_l1").x
    return solution[:-1], float(solution[-1])


def _left_out(found: Array, slopes: Array, chainage_m: Array) -> tuple[float, float]:
    """Return the errors at left-out stretches without and with a pattern."""
    rank = np.argsort(np.argsort(chainage_m, kind="stable"), kind="stable")
    fold = rank * FOLDS // rank.size
    plain, fitted = np.zeros(rank.size), np.zeros(rank.size)
    for number in range(FOLDS):
        out = fold == number
        logs, common = _solve(found[~out], slopes[~out])
        plain[out] = found[out] - np.median(found[~out])
        fitted[out] = found[out] + slopes[out] @ logs - common
    return _error(plain), _error(fitted)


def _error(missed: Array) -> float:
    """Return the root mean square with wild values drawn in."""
    limit = WILD * MAD_TO_SD * float(np.median(np.abs(missed)))
    return float(np.sqrt(np.mean(np.clip(missed, -limit, limit) ** 2)))
