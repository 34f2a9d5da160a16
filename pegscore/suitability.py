"""Preference curves and rules that turn water into a score; pure arrays.

References
----------
Hyra 1978, *Methods of assessing instream flows for recreation*, Instream Flow
Information Paper 6, pp. 13-19: product of factors, weighted usable area, bands.
Vadas & Orth 2001, Trans. Am. Fish. Soc. 130:217-235: the product did as well as
complex models and better than other composites (abstract seen).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

from pegscore.errors import PegError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

    from pegscore.species import Species

    Values = NDArray[np.float64]

Rule = Literal["product", "geometric", "minimum"]

ACCEPTABLE = 0.5
"""Where the published class "acceptable" begins (Hyra 1978, p. 19)."""


def factors(
    species: Species,
    *,
    depth_m: ArrayLike,
    speed_m_s: ArrayLike,
    shares: Mapping[str, ArrayLike] | None,
) -> dict[str, Values]:
    """Return the suitability of each cell by depth, speed and bottom.

    Parameters
    ----------
    species : Species
        Whose curves are asked.
    depth_m, speed_m_s : array
        One value a cell; ``NaN`` is unknown.
    shares : mapping of str to array, or None
        Share of each substrate class a cell; None, or no class at all, where it
        was not surveyed.

    Returns
    -------
    dict of str to float64 array
        ``depth``, ``speed`` and, where surveyed, ``substrate``: the mean
        suitability of the classes weighted by their shares. In [0, 1];
        ``NaN`` where the input is.
    """
    found = {"depth": species.depth_m(depth_m), "speed": species.speed_m_s(speed_m_s)}
    if shares:
        found["substrate"] = _expected(species, shares, power=1)
    return found


def substrate_spread(species: Species, shares: Mapping[str, ArrayLike]) -> Values:
    """Return how unsure the bottom's suitability is, given the shares as odds.

    The standard deviation of the suitability when the class is drawn with the
    shares as probabilities: 0 where one class is certain.

    Examples
    --------
    >>> from pegscore.species import read_species
    >>> float(substrate_spread(read_species()["barbel"], {"silt": 1.0})[()])
    0.0
    """
    mean = _expected(species, shares, power=1)
    square = _expected(species, shares, power=2)
    spread: Values = np.sqrt(np.maximum(square - mean**2, 0.0))
    return spread


def combine(parts: Mapping[str, ArrayLike], rule: Rule | str = "product") -> Values:
    """Combine a cell's factors into one score.

    Parameters
    ----------
    parts : mapping of str to array
        Factors in [0, 1], as many as are known; all of one shape.
    rule : {'product', 'geometric', 'minimum'}, default='product'
        ``product`` (Hyra 1978), ``geometric`` the n-th root of the product, or
        ``minimum`` the limiting factor alone.

    Returns
    -------
    float64 array
        In [0, 1]; ``NaN`` where any factor is. A product falls as factors are
        added: never compare products of different numbers of factors.

    Raises
    ------
    PegError
        If there is no factor, or the rule is not known.

    Examples
    --------
    The published example, depth 0.9 and velocity 0.24 (Hyra 1978, p. 13):

    >>> float(combine({"depth": 0.9, "speed": 0.24}))
    0.216
    """
    if not parts:
        message = "there is no factor to combine; give depth, speed or substrate"
        raise PegError(message)
    stacked = np.stack([np.asarray(part, np.float64) for part in parts.values()])
    if rule == "product":
        return np.asarray(np.prod(stacked, axis=0))
    if rule == "geometric":
        return np.asarray(np.prod(stacked, axis=0) ** (1.0 / len(stacked)))
    if rule == "minimum":
        return np.asarray(np.min(stacked, axis=0))
    message = f"rule {rule!r} is not known; choose product, geometric or minimum"
    raise PegError(message)


def weighted_usable_area(scores: ArrayLike, area_m2: ArrayLike) -> float:
    """Return the sum of score times area over cells (Hyra 1978, pp. 13-15).

    The unit is that of the area; cells whose score is ``NaN`` are left out, and
    where every score is ``NaN`` so is the sum.

    Examples
    --------
    >>> weighted_usable_area([0.5, 1.0, float("nan")], [10.0, 4.0, 7.0])
    9.0
    """
    weighted = np.asarray(scores, np.float64) * np.asarray(area_m2, np.float64)
    return float(np.nansum(weighted)) if np.isfinite(weighted).any() else math.nan


def band(score: float) -> str:
    """Name the published class of a score (Hyra 1978, p. 19); ``NaN`` is unknown.

    The classes are printed to two digits; a score between two of them (0.495,
    0.995) keeps the lower name.

    Examples
    --------
    >>> [band(score) for score in (1.0, 0.5, 0.49, 0.0, float("nan"))]
    ['optimum', 'acceptable', 'marginal', 'unacceptable', 'unknown']
    """
    if math.isnan(score):
        return "unknown"
    if score >= 1.0:
        return "optimum"
    if score >= ACCEPTABLE:
        return "acceptable"
    return "marginal" if score > 0.0 else "unacceptable"


def _expected(
    species: Species, shares: Mapping[str, ArrayLike], *, power: int
) -> Values:
    total: Values = np.zeros(())
    for name, share in shares.items():
        total = total + np.asarray(share, np.float64) * species.substrate[name] ** power
    return total
