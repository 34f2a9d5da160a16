"""Published formulas of open-channel flow: pure functions, SI units.

What is cited "from memory" was not read again for this module; the reference
tests check every formula against an outside number.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

from layers.errors import LayerError
from layers.grain import typical_mm

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

GRAVITY_M_S2 = 9.81
DEFAULT_N = 0.035
"""Chow (1959) Table 5-6, natural streams, "stones and weeds, normal" (from memory)."""
FLOAT_COEFFICIENT = 0.85
"""Depth mean over surface speed: the middle of 0.84-0.90 (Rantz 1982; Turnipseed
and Sauer 2010)."""
ROUGH_FLOAT_COEFFICIENT = 0.80
"""The same over a bed rough for its depth, from the log law at h/k_s = 5."""
ROUGH_BELOW = 10.0
"""Depth over roughness height below which the bed counts as rough (proposal)."""
VON_KARMAN = 0.41
SMOOTHEST_N = 0.025
"""No natural bed counts as smoother: Cowan (1956) n0 for rock cut (from memory)."""
FORM_FACTOR = 1.25
"""What bed forms add to grain roughness (proposal)."""
N_RANGE = (0.015, 0.150)
"""Beyond this a Manning n is not believed: Chow (1959) Table 5-6 ends at 0.150."""
LEAST_VERTICALS = 3
LEAST_CONVEYANCE = 0.1


def conveyance(
    area_m2: ArrayLike, radius_m: ArrayLike, n: ArrayLike
) -> NDArray[np.float64]:
    """Return a section's conveyance ``A R^(2/3) / n``, m³/s.

    References
    ----------
    Manning's formula; Chow (1959), Open-Channel Hydraulics, ch. 6 (from memory).
    """
    area, radius = np.asarray(area_m2, np.float64), np.asarray(radius_m, np.float64)
    carried: NDArray[np.float64] = area * np.cbrt(radius) ** 2 / np.asarray(n)
    return carried


def manning_speed(
    radius_m: ArrayLike, slope: ArrayLike, n: ArrayLike
) -> NDArray[np.float64]:
    """Return Manning's mean speed ``R^(2/3) S^(1/2) / n``, m/s.

    In wide water, and for one vertical strip of any section, the hydraulic
    radius is the depth.

    Examples
    --------
    >>> float(manning_speed(1.0, 0.0009, 0.03))
    1.0
    """
    speed: NDArray[np.float64] = conveyance(1.0, radius_m, n) * np.sqrt(slope)
    return speed


def friction_slope(flow_m3_s: float, carried_m3_s: float) -> float:
    """Return the energy slope ``(Q / K)²`` that drives a flow through a section.

    Examples
    --------
    >>> friction_slope(2.0, 100.0)
    0.0004
    """
    return float((flow_m3_s / carried_m3_s) ** 2)


def reach_conveyance(carried_m3_s: ArrayLike) -> float:
    """Return the conveyance of sections one after the other, evenly spaced.

    The fall along them is ``Q² * mean(1 / K²)``, so the reach carries like
    ``mean(1 / K²)^(-1/2)``. A section far below the median counts as a tenth of
    it, for one bad sounding must not dam the river (proposal).

    Examples
    --------
    >>> reach_conveyance([100.0, 100.0])
    100.0
    """
    carried = np.asarray(carried_m3_s, np.float64)
    floored = np.maximum(carried, LEAST_CONVEYANCE * np.median(carried))
    return float(np.mean(floored**-2.0) ** -0.5)


def strickler_n(d50_m: ArrayLike) -> NDArray[np.float64]:
    """Return Manning's n of a plane bed of grains, ``d50^(1/6) / 21.1``.

    It is a lower bound: bed forms, weed and bends add to it.

    References
    ----------
    Strickler (1923), d50 in metres (from memory).

    Examples
    --------
    >>> round(float(strickler_n(0.050)), 4)
    0.0288
    """
    n: NDArray[np.float64] = np.asarray(d50_m, np.float64) ** (1 / 6) / 21.1
    return n


def class_n(word: str) -> float:
    """Return our default Manning n for a bed wholly of one class.

    ``max(strickler_n, 0.025) * 1.25`` within 0.015-0.150: a proposal, to be
    scaled by measured speeds. Rock has no grain and takes 0.025 (Cowan 1956).
    """
    size_mm = typical_mm(word)
    grain = 0.0 if math.isnan(size_mm) else float(strickler_n(size_mm / 1000))
    return float(np.clip(max(grain, SMOOTHEST_N) * FORM_FACTOR, *N_RANGE))


def bed_roughness(shares: Mapping[str, NDArray[np.floating]]) -> NDArray[np.float64]:
    """Return Manning's n from substrate shares: the classes' n by their share.

    Where the shares are unknown (``NaN``) it is ``DEFAULT_N``.
    """
    n = np.sum([class_n(word) * share for word, share in shares.items()], axis=0)
    filled: NDArray[np.float64] = np.where(np.isfinite(n), n, DEFAULT_N)
    return filled


def power_law_mean(exponent: ArrayLike) -> NDArray[np.float64]:
    """Return depth mean over surface speed, ``m / (m + 1)``, for a 1/m power law.

    Examples
    --------
    >>> float(power_law_mean(7))
    0.875
    """
    m = np.asarray(exponent, np.float64)
    return m / (m + 1)


def power_law_speed(
    height_frac: ArrayLike, *, exponent: float = 6.0
) -> NDArray[np.float64]:
    """Return the speed at a height over the depth mean, for a 1/m power law.

    Parameters
    ----------
    height_frac : array-like of float
        Height above the bed over depth, 0 to 1.
    exponent : float, default=6
        The ``m`` of ``u ~ z^(1/m)``; 6 and 7 are usual in rivers (ISO 748, from
        memory).
    """
    profile = np.asarray(height_frac, np.float64) ** (1 / exponent)
    over_mean: NDArray[np.float64] = profile / power_law_mean(exponent)
    return over_mean


def float_coefficient(
    depth_m: ArrayLike, roughness_height_m: ArrayLike
) -> NDArray[np.float64]:
    """Return what turns a float's speed into the depth mean beneath it.

    0.85, but 0.80 where the depth is less than ten roughness heights; 0.85 where
    the roughness is unknown (``NaN``).
    """
    rough = np.asarray(depth_m) < ROUGH_BELOW * np.asarray(roughness_height_m)
    return np.where(rough, ROUGH_FLOAT_COEFFICIENT, FLOAT_COEFFICIENT)


def mid_section_discharge(
    offset_m: ArrayLike,
    depth_m: ArrayLike,
    speed_m_s: ArrayLike,
    *,
    edge: Literal["half", "triangle"] = "half",
) -> float:
    """Return the discharge through a gauged section, m³/s.

    Each vertical stands for the strip half-way to its neighbours.

    Parameters
    ----------
    offset_m : array-like of float
        Distance from a mark on the bank, increasing; the first and last are the
        water's edges.
    depth_m, speed_m_s : array-like of float
        Depth and depth-mean speed at each; usually zero at the edges.
    edge : {'half', 'triangle'}, default='half'
        ``half`` gives an edge the strip half-way to its neighbour (ISO 748; USGS
        WSP 2175, Rantz and others 1982). ``triangle`` widens the strip of the
        first and last vertical to ``(W1 + W2/2)² / (2 W1)``, as Subramanya,
        Engineering Hydrology, does (from memory), and leaves the edges out.

    Raises
    ------
    LayerError
        If the offsets do not increase or there are fewer than three.

    Examples
    --------
    >>> mid_section_discharge([0, 2, 4], [1.5, 1.5, 1.5], [0.5, 0.5, 0.5])
    3.0
    """
    offset, depth, speed = (
        np.asarray(values, np.float64) for values in (offset_m, depth_m, speed_m_s)
    )
    gaps = np.diff(offset)
    if offset.size < LEAST_VERTICALS or not np.all(gaps > 0):
        message = (
            f"the verticals' offsets are {offset.tolist()}; give at least three, "
            "each larger than the one before"
        )
        raise LayerError(message)
    strips = np.empty_like(offset)
    strips[1:-1] = (gaps[:-1] + gaps[1:]) / 2
    strips[[0, -1]] = gaps[[0, -1]] / 2
    if edge == "triangle":
        strips[1] = (gaps[0] + gaps[1] / 2) ** 2 / (2 * gaps[0])
        strips[-2] = (gaps[-1] + gaps[-2] / 2) ** 2 / (2 * gaps[-1])
        strips[[0, -1]] = 0.0
    return float(np.sum(strips * depth * speed))
