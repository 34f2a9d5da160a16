"""Weights as anglers tell them: "about 10 lb" is a range, not a number.

A round weight was rounded, by how much its own roundness says: 10 lb is somewhere from
7 lb 8 oz to 12 lb 8 oz, 7 lb 3 oz within half an ounce. The typical fish is then fitted
to the ranges (interval censoring), so that round weights count for what they are worth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import CensoredData, norm

from layers.bederror import Z_80
from layers.columns import POUND_KG
from pegscore.catches import FEWEST_ANGLERS, FEWEST_VISITS
from pegscore.errors import ReturnsRefused

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    Values = NDArray[np.float64]

STEPS = {"lb": (1 / 16, 1 / 4, 1.0, 5.0, 10.0), "kg": (0.01, 0.1, 0.5, 1.0, 5.0)}
"""What weights are rounded to, in each unit: an ounce, a quarter ...; our proposal."""

KG = {"lb": POUND_KG, "kg": 1.0}
WHOLE = 1e-3
"""Share of a step within which a weight is a whole number of them: written digits."""

NUDGE = 1e-5
SMALLEST_SPREAD = 0.02
"""Fish never weigh within less than this, in logs, of each other; our proposal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypicalWeight:
    """The weight that half of the bags' fish exceed, with its 80 % interval, kg.

    ``bags`` is how many weights it rests on and ``round`` how many of those were
    rounded to more than a tenth of themselves.
    """

    median_kg: float
    low_kg: float
    high_kg: float
    bags: int
    round: int


def rounded_range(weight_kg: ArrayLike, *, unit: str = "lb") -> tuple[Values, Values]:
    """Return what a told weight can have been, kg.

    The step is the coarsest of ``STEPS`` that the weight is a whole number of and that
    is at most half of it; finer than the finest, half of that is taken.

    Parameters
    ----------
    weight_kg : array
        Above zero; ``NaN`` where not told, and then both ends are.
    unit : {'lb', 'kg'}
        What the anglers' scales read in.

    Examples
    --------
    >>> low, high = rounded_range([10 * 0.45359237])
    >>> round(float(low[0] / 0.45359237), 3), round(float(high[0] / 0.45359237), 3)
    (7.5, 12.5)
    """
    if unit not in STEPS:
        message = f"unit is {unit!r}; choose one of {', '.join(STEPS)}"
        raise ReturnsRefused(message)
    told = np.asarray(weight_kg, np.float64) / KG[unit]
    step = np.full(told.shape, STEPS[unit][0])
    for size in STEPS[unit][1:]:
        whole = np.abs(told / size - np.round(told / size)) < WHOLE
        step = np.where(whole & (size <= told / 2), size, step)
    reach = np.minimum(step, told) / 2
    return (told - reach) * KG[unit], (told + reach) * KG[unit]


def unit_told(weight_kg: ArrayLike) -> str:
    """Return the unit in which most of the weights are round: ``lb`` or ``kg``."""
    told = np.asarray(weight_kg, np.float64)
    told = told[told > 0]

    def round_share(unit: str) -> float:
        parts = told / KG[unit] / STEPS[unit][1]
        return float(np.mean(np.abs(parts - np.round(parts)) < WHOLE))

    if len(told) == 0:
        return "kg"
    return "lb" if round_share("lb") > round_share("kg") else "kg"


def interval_normal(low: ArrayLike, high: ArrayLike) -> tuple[float, float, float]:
    """Fit a normal law to values known by their ranges alone.

    Returns
    -------
    mean, sd, mean_se : float
        By maximum likelihood; the error from the likelihood's curvature.
    """
    ends = np.column_stack([np.asarray(low, float), np.asarray(high, float)])
    mean, spread = norm.fit(CensoredData(interval=ends))
    sd = max(float(spread), SMALLEST_SPREAD)
    at = np.array([float(mean), np.log(sd)])
    steps = NUDGE * np.eye(2)
    curve = [_slope(at + step, ends) - _slope(at - step, ends) for step in steps]
    errors = np.linalg.pinv(np.array(curve) / (2 * NUDGE))
    return float(mean), sd, float(np.sqrt(max(errors[0, 0], 0.0)))


def typical_weight(returns: pd.DataFrame, species: str) -> TypicalWeight | None:
    """Return the typical fish of a species as the returns weighed it.

    A bag of several fish counts as one fish of their mean weight.

    Parameters
    ----------
    returns : DataFrame
        ``Survey.returns``: one row a visit and species.
    species : str

    Returns
    -------
    TypicalWeight or None
        None where fewer visits or anglers stand behind it than may be told of.
    """
    bags = _weighed(returns, species)
    few = len(bags) < FEWEST_VISITS or bags["angler"].nunique() < FEWEST_ANGLERS
    if few:
        return None
    told = bags["weight_kg"].to_numpy(np.float64)
    low, high = rounded_range(told, unit=unit_told(told))
    fish = bags["count"].to_numpy(np.float64)
    mean, _, error = interval_normal(np.log(low / fish), np.log(high / fish))
    return TypicalWeight(
        median_kg=float(np.exp(mean)),
        low_kg=float(np.exp(mean - Z_80 * error)),
        high_kg=float(np.exp(mean + Z_80 * error)),
        bags=len(bags),
        round=int(np.sum(high - low > 0.1 * told)),
    )


def _weighed(returns: pd.DataFrame, species: str) -> pd.DataFrame:
    same = returns["species"].fillna("").astype(str).str.strip().str.lower() == species
    if "weight_kg" not in returns or "angler" not in returns:
        return returns[same].iloc[:0].assign(angler="", weight_kg=np.nan)
    named = returns["angler"].fillna("").astype(str) != ""
    weighed = (returns["weight_kg"] > 0) & (returns["count"] > 0)
    return returns[same & named & weighed]


def _slope(spot: Values, ends: Values) -> Values:
    """Return the slope of the misfit in the mean and the log spread."""
    mean, sd = spot[0], np.exp(spot[1])
    low, high = (ends[:, 0] - mean) / sd, (ends[:, 1] - mean) / sd
    mass = np.maximum(norm.cdf(high) - norm.cdf(low), 1e-300)
    in_mean = (norm.pdf(high) - norm.pdf(low)) / mass / sd
    in_log = (high * norm.pdf(high) - low * norm.pdf(low)) / mass
    return np.array([in_mean.sum(), in_log.sum()])
