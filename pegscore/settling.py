"""How fast a bait sinks: one published formula from creeping to free fall.

A bait is within a few per cent of water's own density, and its settling speed goes
about with the square root of that small difference: what is computed here is a
first guess, and a bucket test (seconds to sink a known depth) is worth more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from layers.hydraulics import GRAVITY_M_S2

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

CREEPING = 18.0
"""``C1`` of Ferguson and Church (2004): Stokes' law for a sphere."""

SMOOTH, NATURAL = 0.4, 1.0
"""``C2`` of Ferguson and Church (2004): smooth spheres; natural grains by sieve."""

USUAL_TEMP_C = 15.0
"""Water temperature where none is given; our own proposal, no source."""


def settling_speed(
    size_m: ArrayLike,
    excess: ArrayLike,
    *,
    drag: ArrayLike = NATURAL,
    viscosity_m2_s: ArrayLike = 1.0e-6,
) -> Floats:
    """Return how fast a body sinks through still water, m/s.

    Parameters
    ----------
    size_m : array-like of float
        The diameter of a sphere of the same volume, metres, above 0.
    excess : array-like of float
        Density over that of water, less one.
    drag : array-like of float, default=1.0
        The formula's ``C2``: 0.4 for a smooth sphere, 1.0 for a natural grain.
    viscosity_m2_s : array-like of float, default=1e-6
        Kinematic viscosity of the water.

    Returns
    -------
    array of float
        ``NaN`` where the body floats (``excess`` of 0 or less).

    Notes
    -----
    ``w = R g D² / (C1 ν + sqrt(0.75 C2 R g D³))`` with ``C1 = 18``.

    References
    ----------
    Ferguson and Church (2004), A simple universal equation for grain settling
    velocity, Journal of Sedimentary Research 74, 933-937; constants as restated in
    public pages.

    Examples
    --------
    A millimetre of quartz, 12 or 13 cm in a second:

    >>> round(float(settling_speed(0.001, 1.65)), 4)
    0.1263
    >>> float(settling_speed(0.005, -0.01))
    nan
    """
    size = np.asarray(size_m, np.float64)
    heavier = np.asarray(excess, np.float64)
    pull = np.where(heavier > 0, heavier, np.nan) * GRAVITY_M_S2
    form = np.sqrt(0.75 * np.asarray(drag) * pull * size**3)
    speed: Floats = pull * size**2 / (CREEPING * np.asarray(viscosity_m2_s) + form)
    return speed


def water_density(temp_c: ArrayLike) -> Floats:
    """Return the density of fresh water, kg/m³.

    References
    ----------
    McCutcheon, Martin and Barnwell (1993), Water quality, in Maidment (ed.),
    Handbook of Hydrology (from memory); checked against a printed table.

    Examples
    --------
    >>> round(float(water_density(20.0)), 1)
    998.2
    """
    t = np.asarray(temp_c, np.float64)
    lighter = (t + 288.9414) * (t - 3.9863) ** 2 / (508929.2 * (t + 68.12963))
    density: Floats = 1000.0 * (1.0 - lighter)
    return density


def water_viscosity(temp_c: ArrayLike) -> Floats:
    """Return the kinematic viscosity of fresh water, m²/s, from 0 to 40 °C.

    References
    ----------
    ``μ = 2.414e-5 * 10^(247.8 / (T - 140))`` Pa s with T in kelvin, as printed at
    host.engineersedge.com/physics/water__density_viscosity_specific_weight_13146.htm
    beside a table that it meets to about one per cent.

    Examples
    --------
    >>> round(float(water_viscosity(20.0)) * 1e6, 3)
    1.004
    """
    kelvin = np.asarray(temp_c, np.float64) + 273.15
    dynamic = 2.414e-5 * 10.0 ** (247.8 / (kelvin - 140.0))
    viscosity: Floats = dynamic / water_density(temp_c)
    return viscosity
