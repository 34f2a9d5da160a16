"""The water's surface along a river: the standard-step method.

Between two sections the energy falls by friction, ``(Q / K)²`` a metre, taken as
the mean of both ends (Chow 1959, Open-Channel Hydraulics, ch. 10; Henderson 1966,
from memory). In tranquil water the march runs upstream from a known level; where
no tranquil level fits, the section is held at its critical level and marked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy.optimize import brentq

from layers.errors import LayerError
from layers.hydraulics import GRAVITY_M_S2

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

HIGHEST_M = 50.0
"""No level is looked for farther than this above a section's bed."""
SHALLOWEST_M = 1e-4
CLOSE_M = 1e-12


class Section(Protocol):
    """What the march asks of a section, for a level in metres above datum."""

    @property
    def lowest_m(self) -> float:
        """The lowest point of the bed."""

    def area_m2(self, level_m: float) -> float:
        """Return the wetted area."""

    def top_m(self, level_m: float) -> float:
        """Return the width of the surface."""

    def carried_m3_s(self, level_m: float) -> float:
        """Return the conveyance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strips:
    """A section of vertical strips, each as rough as its own bed and no wider.

    Parameters
    ----------
    bed_m, width_m, roughness : array of float, shape (strips,)
        Elevation, width and Manning's n of each.

    Examples
    --------
    >>> one = Strips(bed_m=np.zeros(1), width_m=np.ones(1), roughness=np.ones(1))
    >>> one.area_m2(8.0), round(one.carried_m3_s(8.0), 9)
    (8.0, 32.0)
    """

    bed_m: Array
    width_m: Array
    roughness: Array

    @property
    def lowest_m(self) -> float:
        """The lowest strip's bed."""
        return float(self.bed_m.min())

    def area_m2(self, level_m: float) -> float:
        """Return depth by width of the wet strips."""
        return float(np.maximum(level_m - self.bed_m, 0.0) @ self.width_m)

    def top_m(self, level_m: float) -> float:
        """Return the width of the wet strips."""
        return float(self.width_m[self.bed_m < level_m].sum())

    def carried_m3_s(self, level_m: float) -> float:
        """Return the sum of the strips' ``h^(5/3) w / n``."""
        depth_m = np.maximum(level_m - self.bed_m, 0.0)
        return float(depth_m ** (5 / 3) @ (self.width_m / self.roughness))


@dataclass(frozen=True, slots=True, kw_only=True)
class Trapezoid:
    """A canal: flat bottom and two sides of one slope, of one roughness.

    Parameters
    ----------
    bed_m, bottom_m : float
        Elevation and width of the bottom.
    side : float
        Run of the sides for a rise of one; 0 is upright.
    roughness : float
        Manning's n.
    """

    bed_m: float
    bottom_m: float
    side: float
    roughness: float

    @property
    def lowest_m(self) -> float:
        """The bottom."""
        return self.bed_m

    def area_m2(self, level_m: float) -> float:
        """Return the area below the level."""
        depth_m = level_m - self.bed_m
        return depth_m * (self.bottom_m + self.side * depth_m)

    def top_m(self, level_m: float) -> float:
        """Return the width at the level."""
        return self.bottom_m + 2 * self.side * (level_m - self.bed_m)

    def carried_m3_s(self, level_m: float) -> float:
        """Return Manning's conveyance, the bottom and both sides being wetted."""
        around_m = self.bottom_m + 2 * (level_m - self.bed_m) * math.hypot(1, self.side)
        area_m2 = self.area_m2(level_m)
        return area_m2 * math.pow(area_m2 / around_m, 2 / 3) / self.roughness


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """Levels along a river.

    Parameters
    ----------
    level_m : array of float, shape (sections,)
        Metres above datum.
    critical : array of bool, shape (sections,)
        Where no tranquil level fits and the critical one stands.
    """

    level_m: Array
    critical: NDArray[np.bool_]


def critical_level(section: Section, flow_m3_s: float, *, alpha: float = 1.0) -> float:
    """Return the level at which ``alpha Q² B = g A³``, metres above datum.

    Examples
    --------
    A wide channel: ``(q² / g)^(1/3)``.

    >>> wide = Strips(bed_m=np.zeros(1), width_m=np.ones(1), roughness=np.ones(1))
    >>> round(critical_level(wide, 3.6), 2)
    1.1
    """

    def excess(level_m: float) -> float:
        top_m, area_m2 = section.top_m(level_m), section.area_m2(level_m)
        return alpha * flow_m3_s**2 * top_m - GRAVITY_M_S2 * area_m2**3

    low = section.lowest_m + SHALLOWEST_M
    if excess(low) <= 0:
        return low
    return float(brentq(excess, low, section.lowest_m + HIGHEST_M, xtol=CLOSE_M))


def normal_level(section: Section, flow_m3_s: float, slope: float) -> float:
    """Return the level at which friction takes just the slope, metres above datum.

    Examples
    --------
    >>> canal = Trapezoid(bed_m=0, bottom_m=3, side=0, roughness=0.013)
    >>> round(normal_level(canal, 12.0, 1 / 200), 3)
    1.024
    """
    needed = flow_m3_s / math.sqrt(slope)
    low = section.lowest_m + SHALLOWEST_M
    high = section.lowest_m + HIGHEST_M
    return float(
        brentq(lambda z: section.carried_m3_s(z) - needed, low, high, xtol=CLOSE_M)
    )


def standard_step(
    sections: Sequence[Section],
    chainage_m: Array,
    flow_m3_s: float,
    *,
    level_m: float,
    alpha: float = 1.0,
) -> Profile:
    """Return the water's level at every section, marching upstream.

    Parameters
    ----------
    sections : sequence of Section
        Numbered downstream.
    chainage_m : array of float, shape (sections,)
        Where they lie, growing downstream.
    flow_m3_s : float
        The discharge; without any the water lies flat.
    level_m : float
        The level at the last section, metres above datum.
    alpha : float, default=1.0
        Energy coefficient of the speed head.

    Raises
    ------
    LayerError
        If the chainages do not grow, one a section.
    """
    if len(sections) != len(chainage_m) or np.any(np.diff(chainage_m) <= 0):
        message = (
            f"{len(sections)} sections at {len(chainage_m)} chainages cannot be "
            "marched; give one chainage a section, growing downstream"
        )
        raise LayerError(message)
    levels = np.full(len(sections), float(level_m))
    critical = np.zeros(len(sections), bool)
    if flow_m3_s <= 0:
        return Profile(level_m=levels, critical=critical)
    lowest = critical_level(sections[-1], flow_m3_s, alpha=alpha)
    critical[-1] = level_m < lowest
    levels[-1] = max(level_m, lowest)
    for here in range(len(sections) - 2, -1, -1):
        step_m = float(chainage_m[here + 1] - chainage_m[here])
        below = _energy(
            sections[here + 1], levels[here + 1], flow_m3_s, alpha, step_m / 2
        )
        levels[here], critical[here] = _level_above(
            sections[here], below, flow_m3_s, alpha, step_m / 2
        )
    return Profile(level_m=levels, critical=critical)


def _energy(
    section: Section, level_m: float, flow_m3_s: float, alpha: float, over_m: float
) -> float:
    """Return level, speed head and the friction over a length, metres."""
    speed = flow_m3_s / section.area_m2(level_m)
    friction = (flow_m3_s / section.carried_m3_s(level_m)) ** 2
    return level_m + alpha * speed**2 / (2 * GRAVITY_M_S2) + friction * over_m


def _level_above(
    section: Section, below_m: float, flow_m3_s: float, alpha: float, half_m: float
) -> tuple[float, bool]:
    """Return the tranquil level with the energy that reaches the section below."""

    def excess(level_m: float) -> float:
        return _energy(section, level_m, flow_m3_s, alpha, -half_m) - below_m

    low = critical_level(section, flow_m3_s, alpha=alpha)
    if excess(low) >= 0:
        return low, True
    high = max(low, below_m) + HIGHEST_M
    return float(brentq(excess, low, high, xtol=CLOSE_M)), False
