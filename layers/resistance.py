"""Published formulas of bed resistance and of how hard water pulls at the bed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from layers.errors import LayerError
from layers.hydraulics import GRAVITY_M_S2

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

WATER_KG_M3 = 1000.0
QUARTZ_KG_M3 = 2650.0
FOOT_M = 0.3048
COWAN: Mapping[str, Mapping[str, float]] = {
    "material": {
        "earth": 0.020,
        "rock cut": 0.025,
        "fine gravel": 0.024,
        "coarse gravel": 0.028,
    },
    "irregularity": {"smooth": 0.0, "minor": 0.005, "moderate": 0.010, "severe": 0.020},
    "variation": {"gradual": 0.0, "occasional": 0.005, "frequent": 0.0125},
    "obstructions": {
        "negligible": 0.0,
        "minor": 0.0125,
        "appreciable": 0.025,
        "severe": 0.050,
    },
    "vegetation": {"low": 0.0075, "medium": 0.0175, "high": 0.0375, "very high": 0.075},
    "meandering": {"minor": 1.0, "appreciable": 1.15, "severe": 1.30},
}
"""Cowan (1956), as Chow (1959) Table 5-5 gives it (from memory); the middle where it
gives a range."""

Meandering = Literal["minor", "appreciable", "severe"]


def froude_number(speed_m_s: ArrayLike, depth_m: ArrayLike) -> Array:
    """Return speed over that of a long wave, ``u / sqrt(g h)``; 1 is critical.

    Examples
    --------
    >>> round(float(froude_number(9.81**0.5, 1.0)), 9)
    1.0
    """
    wave = np.sqrt(GRAVITY_M_S2 * np.asarray(depth_m, np.float64))
    number: Array = np.asarray(speed_m_s, np.float64) / wave
    return number


def bed_shear_pa(speed_m_s: ArrayLike, depth_m: ArrayLike, n: ArrayLike) -> Array:
    """Return the shear stress ``rho g n² u² / h^(1/3)``, Pa, by Manning's formula.

    With the n of the grains alone it is what pulls at them; with the whole n two
    to four times too much.
    """
    speed, rough = np.asarray(speed_m_s, np.float64), np.asarray(n, np.float64)
    pull: Array = WATER_KG_M3 * GRAVITY_M_S2 * (rough * speed) ** 2 / np.cbrt(depth_m)
    return pull


def shields_number(shear_pa: ArrayLike, grain_m: ArrayLike) -> Array:
    """Return the Shields number of quartz grains, ``tau / ((rho_s - rho) g d)``.

    Examples
    --------
    0.045, where coarse gravel begins to move (Meyer-Peter and Müller 1948 with
    0.047, from memory), is 7.3 Pa for a centimetre:

    >>> round(float(shields_number(7.284, 0.01)), 3)
    0.045
    """
    weight = (QUARTZ_KG_M3 - WATER_KG_M3) * GRAVITY_M_S2
    number: Array = np.asarray(shear_pa, np.float64) / (weight * np.asarray(grain_m))
    return number


def limerinos_n(radius_m: ArrayLike, d84_m: ArrayLike) -> Array:
    """Return Manning's n of a straight gravel channel by depth and grain.

    ``0.0926 R^(1/6) / (1.16 + 2 log10(R / d84))`` with R in feet. ``NaN`` where
    the water is not deep enough over the grains for it to be above zero.

    References
    ----------
    Limerinos (1970), USGS Water-Supply Paper 1898-B; tranquil flow.
    """
    radius = np.asarray(radius_m, np.float64)
    drag = 1.16 + 2.0 * np.log10(radius / np.asarray(d84_m, np.float64))
    n = 0.0926 * (radius / FOOT_M) ** (1 / 6) / np.where(drag > 0, drag, np.nan)
    return np.asarray(n, np.float64)


def cowan_n(*, meandering: Meandering = "minor", **parts: str) -> float:
    """Return Manning's n of a channel by Cowan's parts, ``(n0 + ... + n4) m5``.

    Parameters
    ----------
    meandering : {'minor', 'appreciable', 'severe'}, default='minor'
        How much the channel winds.
    **parts : str
        ``material`` and, where they matter, ``irregularity``, ``variation``,
        ``obstructions`` and ``vegetation``, in the words of ``COWAN``.

    Raises
    ------
    LayerError
        If a part or its word is not Cowan's, or the material is missing.

    Examples
    --------
    >>> round(cowan_n(material="earth", vegetation="low"), 4)
    0.0275
    """
    known = {name: words for name, words in COWAN.items() if name != "meandering"}
    wrong = [
        f"{part}={word!r}"
        for part, word in parts.items()
        if word not in known.get(part, {})
    ]
    if wrong or "material" not in parts:
        choices = "; ".join(
            f"{part}: {', '.join(words)}" for part, words in known.items()
        )
        message = (
            f"Cowan's parts {', '.join(wrong) or 'without a material'} are not known; "
            f"give {choices}"
        )
        raise LayerError(message)
    total = sum(known[part][word] for part, word in parts.items())
    return total * COWAN["meandering"][meandering]
