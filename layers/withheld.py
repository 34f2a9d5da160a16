"""How well the model foretells measured speeds of stretches it was not told of.

The measurements are left out by stretches of the river, for neighbours know each
other. Roughness stays as fitted (what its fit earns is judged in
``layers.fitting``); discharge and correction are found anew without them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from layers.bederror import Z_80
from layers.residual import NOISE_SD, Places, correct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STRETCHES = 5
FEWEST = 15
"""With fewer measurements nothing is left out (proposal)."""
LEAST_SD = 0.117
"""An 80 % interval is never held to be narrower than 15 % (proposal)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Withheld:
    """What was found.

    Parameters
    ----------
    error_before, error_after : float
        Root mean square of the relative error of the model's speeds at left-out
        measurements, without and with the correction the others earn.
    covered : float
        The share of left-out measurements inside their 80 % interval, by the
        scatter of the others.
    count : int
        How many measurements.
    """

    error_before: float
    error_after: float
    covered: float
    count: int

    @property
    def note(self) -> str:
        """What a reader should know."""
        return (
            f"speeds: {self.count} measurement(s), left out by {STRETCHES} stretches "
            f"in turn, missed by {self.error_before:.0%} without and "
            f"{self.error_after:.0%} with the correction the others earn; "
            f"{self.covered:.0%} of them lay inside their 80 % interval"
        )


def left_out_stretches(
    misfit: Array, measured: Places, *, width_m: float
) -> Withheld | None:
    """Leave out stretch after stretch; ``None`` with too few measurements.

    Parameters
    ----------
    misfit : array of float, shape (measurements,)
        Logarithm of measured over modelled speed.
    measured : Places
        Where they were taken.
    width_m : float
        The river's usual width.
    """
    if misfit.size < FEWEST:
        return None
    rank = np.argsort(np.argsort(measured.chainage_m, kind="stable"), kind="stable")
    stretch = rank * STRETCHES // rank.size
    plain, corrected, spread = np.zeros((3, misfit.size))
    for number in range(STRETCHES):
        out = stretch == number
        kept = misfit[~out]
        plain[out] = misfit[out] - np.median(kept)
        found = correct(kept, _at(measured, ~out), _at(measured, out), width_m=width_m)
        factor = 1.0 if found is None else found.factor
        corrected[out] = plain[out] - np.log(factor)
        spread[out] = max(_spread(kept), np.hypot(LEAST_SD, NOISE_SD))
    return Withheld(
        error_before=_error(plain),
        error_after=_error(corrected),
        covered=float(np.mean(np.abs(corrected) <= Z_80 * spread)),
        count=misfit.size,
    )


def _at(places: Places, chosen: NDArray[np.bool_]) -> Places:
    return Places(
        chainage_m=places.chainage_m[chosen], offset_m=places.offset_m[chosen]
    )


def _spread(misfit: Array) -> float:
    """Return the standard deviation by the median of what is missed."""
    missed = np.abs(misfit - np.median(misfit))
    return 1.4826 * float(np.median(missed))


def _error(missed: Array) -> float:
    """Return the root mean square of the relative error."""
    return float(np.sqrt(np.mean(np.expm1(missed) ** 2)))
