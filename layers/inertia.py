"""The water at one level with the speed that it brings from upstream."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.lattice import MOSTLY
from layers.planeflow import settled_flow
from layers.streamtube import SLACK_SHARE, march

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from layers.conveyance import Reach, Sections, Water
    from layers.lattice import Lattice
    from layers.streamtube import Bed, March

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

DEAD_END_SHARE = 0.05
"""What is left of its conveyance speed in a dead end, where nothing passes
(proposal)."""
FEWEST_SECTIONS = 3
"""In shorter water nothing is remembered."""


def _even(_level_m: float) -> float:
    """Return that the surface falls evenly."""
    return 0.0


@dataclass(eq=False, kw_only=True)
class Waters:
    """The reach at any level, each worked out once.

    Parameters
    ----------
    reach : Reach
        Its bed, roughness and sections.
    lattice : Lattice, optional
        The sections to march down; without them speeds are conveyance speeds.
    planar : bool, default=False
        Whether the march is only the start, and momentum is settled in the plane.
    bend_m : callable, optional
        How far the surface at a level lies above the evenly falling one, metres,
        shape (cells,).
    """

    reach: Reach
    lattice: Lattice | None = None
    planar: bool = False
    bend_m: Callable[[float], Array | float] = _even
    _conveyed: dict[float, Water] = field(default_factory=dict)
    _marched: dict[float, Water] = field(default_factory=dict)

    def conveyed(self, level_m: float) -> Water:
        """Return depth and conveyance speed per unit of discharge at a level."""
        if level_m not in self._conveyed:
            bend_m = self.bend_m(level_m)
            self._conveyed[level_m] = self.reach.at(level_m, bend_m=bend_m)
        return self._conveyed[level_m]

    def at(self, level_m: float) -> Water:
        """Return depth and speed per unit of discharge at a level."""
        if self.lattice is None:
            return self.conveyed(level_m)
        if level_m not in self._marched:
            water = self.conveyed(level_m)
            self._marched[level_m] = with_inertia(
                water, self.reach, self.lattice, planar=self.planar
            )
        return self._marched[level_m]

    def rougher(self, roughness: Array) -> Waters:
        """Return the same reach with another roughness a cell."""
        return replace(
            self,
            reach=replace(self.reach, roughness=roughness),
            _conveyed={},
            _marched={},
        )


def with_inertia(
    water: Water, reach: Reach, lattice: Lattice, *, planar: bool = False
) -> Water:
    """Return the same water with speeds that remember in place of conveyance ones.

    Each section carries exactly what it carried before. Where neither march nor
    plane reaches (an end of the mapped water that lies askew) conveyance stays.

    Parameters
    ----------
    water : Water
        Depth and conveyance speed.
    reach : Reach
        Its bed and sections.
    lattice : Lattice
        The sections to march down.
    planar : bool, default=False
        Whether to settle momentum in the plane, from the march; where that fails
        the march stays and ``Water.core`` says so.
    """
    if reach.sections.count < FEWEST_SECTIONS or not water.flowing.any():
        return water
    bed = lattice.bed(water.depth_m, reach.roughness, water.flowing)
    whole = reach.sections.stand_in == np.arange(reach.sections.count)
    bed = replace(bed, depth_m=np.where(whole[:, None], bed.depth_m, 0.0))
    found = march(bed)
    settled = settled_flow(bed, found) if planar else None
    if settled is None:
        return replace(_marched(water, lattice, bed, found, reach), core="inertial")
    wet = bed.depth_m.ravel() > 0
    along, across = (lattice.to_cells.mean(part.ravel(), wet) for part in settled)
    speed = np.hypot(along, across)
    known = np.isfinite(speed) & water.flowing & (speed > 0)
    speed = np.where(known, speed, water.unit_speed)
    ahead = np.divide(along, speed, out=np.ones(speed.shape), where=known)
    slack = speed < SLACK_SHARE * water.unit_speed
    dead = _mostly(found.dead_end, lattice, wet) | _mostly(found.stopped, lattice, wet)
    return replace(
        water,
        ahead=ahead,
        core="planar",
        unit_speed=speed * even_out(speed, water, reach.sections, ahead),
        sheltered=water.flowing & (dead | slack | (ahead < 0)),
    )


def _marched(
    water: Water, lattice: Lattice, bed: Bed, found: March, reach: Reach
) -> Water:
    """Return the water with the march's speeds."""
    wet = bed.depth_m.ravel() > 0
    speed = lattice.to_cells.mean(found.unit_speed.ravel(), wet)
    dead = _mostly(found.dead_end, lattice, wet)
    slow = np.where(dead, DEAD_END_SHARE, SLACK_SHARE) * water.unit_speed
    speed = np.where(np.isfinite(speed), np.maximum(speed, slow), water.unit_speed)
    speed = np.where(water.flowing, speed, water.unit_speed)
    return replace(
        water,
        unit_speed=speed * even_out(speed, water, reach.sections, water.ahead),
        sheltered=water.flowing & (dead | _mostly(found.stopped, lattice, wet)),
    )


def even_out(speed: Array, water: Water, sections: Sections, ahead: Array) -> Array:
    """Return, by cell, what makes each section carry what it carried before.

    Parameters
    ----------
    speed : array of float, shape (cells,)
        The new speeds, and in ``ahead`` the part of each that goes along the channel.
    water : Water
        The water before, with its own.
    sections : Sections
        The sections.
    ahead : array of float, shape (cells,)
        As in ``Water``.
    """
    area_m2 = np.where(water.flowing, water.depth_m, 0.0) * sections.width_m
    wanted = sections.total(np.nan_to_num(water.unit_speed) * water.ahead * area_m2)
    carried = sections.total(np.nan_to_num(speed) * ahead * area_m2)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(carried > 0, wanted / carried, 1.0)
    return factor[sections.of_cell]


def _mostly(mask: Mask, lattice: Lattice, wet: Mask) -> Mask:
    """Return the cells whose wet nodes are mostly in a mask."""
    share = lattice.to_cells.mean(mask.ravel().astype(float), wet)
    return np.nan_to_num(share) > MOSTLY
