"""How fast water takes up oxygen from the air, by its pace and depth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

OCONNOR_DOBBINS = 3.93
"""Constant of k2 = 3.93 U^0.5 H^-1.5, per day to base e at 20 °C, U in m/s, H in m.

O'Connor and Dobbins 1958, Mechanisms of reaeration in natural streams, Trans. ASCE
123, 641-684; given for 0.3 to 9 m and 0.15 to 0.5 m/s. [S] constant, powers and ranges
as printed at ponce.sdsu.edu/onlineoxygenation.php after Chin 2006, Water-quality
engineering in natural systems; the paper itself was not opened.
"""

TEMPERATURE_BASE = 1.024
"""k2 grows by this a degree. [S] documentation of a public watershed model
(swatplus.gitbook.io/io-docs); the page above prints 1.025, which differs by 1 % over
10 degrees."""

LEAST_M_PER_DAY = 0.6
"""Still water takes up no less than 0.6 / H a day. [S] same page, after Chin 2006."""

SHALLOWEST_M = 0.1
"""Thinner water is reckoned as this deep, where the formula would run away. [P]"""

MOST_PER_DAY = 50.0
"""No cell is given more. [P]"""


def reaeration_per_day(
    speed_m_s: ArrayLike, depth_m: ArrayLike, *, water_temp_c: float = 20.0
) -> NDArray[np.float64]:
    """Return the reaeration coefficient k2, per day to base e.

    Outside the formula's own range (0.3 to 9 m, 0.15 to 0.5 m/s) it ranks places
    rather than measures them. It is not the oxygen in the water: that needs what
    plants, mud and sewage do as well.

    Parameters
    ----------
    speed_m_s, depth_m : array of float
        Depth-averaged speed and depth, of shapes that broadcast.
    water_temp_c : float, default=20
        Of the water, °C.

    Returns
    -------
    float64 array
        ``NaN`` where either is.

    Examples
    --------
    A knee-deep riffle and a pool:

    >>> reaeration_per_day([0.5, 0.5], [0.4, 1.5]).round(3).tolist()
    [10.985, 1.513]
    """
    deep = np.maximum(np.asarray(depth_m, np.float64), SHALLOWEST_M)
    speed = np.maximum(np.asarray(speed_m_s, np.float64), 0.0)
    at_20 = OCONNOR_DOBBINS * np.sqrt(speed) / deep**1.5
    at_20 = np.clip(at_20, LEAST_M_PER_DAY / deep, MOST_PER_DAY)
    found: NDArray[np.float64] = at_20 * TEMPERATURE_BASE ** (water_temp_c - 20.0)
    return found
