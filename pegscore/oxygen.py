"""Dissolved oxygen: what water can hold at its warmth, and what fish need.

Only a meter tells what a river holds. Saturation is what fresh water comes to in
balance with air; weed lifts it by day and takes it at night, decay takes it always.

References
----------
Benson & Krause 1984, Limnol. Oceanogr. 29:620-632, in the form of *Standard Methods*
4500-O: coefficients seen in a public script, see ``saturation_mg_l``.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from pegscore.curves import Curve, CurvePoint

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

KELVIN = 273.15
"""Zero degrees Celsius in kelvin, exact."""

COEFFICIENTS = (-139.34411, 1.575701e5, -6.642308e7, 1.243800e10, -8.621949e11)
"""Of powers 0, -1 … -4 of the temperature in kelvin [S], as printed by T. Ladson
(gist.github.com/TonyLadson/2e1dd2f106e2a665bc9b0008f91870fa) after Benson & Krause."""

MOST_FISH_DIE_BELOW_MG_L = 3.0
"""Most fish cannot survive below it (``coad`` in sources.toml, seen)."""

MOST_MG_L = 25.0
"""No reading above this is meant in milligrams a litre; our proposal (weed in sun
can double saturation)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenNeed:
    """What a kind of fish needs, milligrams a litre.

    Parameters
    ----------
    template : str
        The block of ``data/oxygen.toml`` it comes from.
    optimum_mg_l, stress_mg_l, critical_mg_l : float
        Enough from the first on; under stress below the second; the third kills.
        From memory of published work except those for salmonids, see the file.
    curve : Curve
        Suitability in [0, 1] by dissolved oxygen.
    """

    template: str
    optimum_mg_l: float
    stress_mg_l: float
    critical_mg_l: float
    curve: Curve


def saturation_mg_l(temp_c: ArrayLike) -> NDArray[np.float64]:
    """Return the oxygen that fresh water holds in balance with air at sea level.

    Parameters
    ----------
    temp_c : array
        Water temperature, °C, 0 to 40; ``NaN`` stays ``NaN``.

    Returns
    -------
    float64 array
        Milligrams a litre at one standard atmosphere; about 1 % less for every
        100 m above the sea, as the air is thinner.

    Examples
    --------
    >>> round(float(saturation_mg_l(20.0)), 2)
    9.09
    """
    kelvin = np.asarray(temp_c, np.float64) + KELVIN
    held: NDArray[np.float64] = np.exp(
        sum(factor / kelvin**power for power, factor in enumerate(COEFFICIENTS))
    )
    return held


@lru_cache(maxsize=1)
def oxygen_needs() -> Mapping[str, OxygenNeed]:
    """Return the shipped needs by template.

    Examples
    --------
    >>> sorted(oxygen_needs())
    ['eurytopic', 'rheophilic_cyprinid', 'salmonid', 'tolerant']
    """
    text = files("pegscore").joinpath("data", "oxygen.toml").read_text("utf-8")
    return {
        name: OxygenNeed(
            template=name,
            optimum_mg_l=float(block["optimum_min"]),
            stress_mg_l=float(block["stress_below"]),
            critical_mg_l=float(block["critical_below"]),
            curve=Curve(
                tuple(CurvePoint(x, y, mark) for x, y, mark in block["points"]),
                tuple(block["sources"]),
            ),
        )
        for name, block in tomllib.loads(text).items()
    }
