"""The water at one level with the speed that streamtubes bring from upstream."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.streamtube import march

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.conveyance import Reach, Sections, Water
    from layers.lattice import Lattice
    from layers.streamtube import March

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

LEAST_SHARE = 0.05
"""No flowing water is held to be slower than this share of its conveyance speed:
a tube that stopped stands for an eddy or a slack, not for still water (proposal)."""

FEWEST_SECTIONS = 3
"""In shorter water nothing is remembered."""


@dataclass(eq=False, kw_only=True)
class Waters:
    """The reach at any level, each worked out once.

    Parameters
    ----------
    reach : Reach
        Its bed, roughness and sections.
    lattice : Lattice, optional
        The sections to march down; without them speeds are conveyance speeds.
    """

    reach: Reach
    lattice: Lattice | None = None
    _known: dict[float, Water] = field(default_factory=dict)

    def at(self, level_m: float) -> Water:
        """Return depth and speed per unit of discharge at a level."""
        if level_m not in self._known:
            water = self.reach.at(level_m)
            if self.lattice is not None:
                water = with_inertia(water, self.reach, self.lattice)
            self._known[level_m] = water
        return self._known[level_m]


def with_inertia(water: Water, reach: Reach, lattice: Lattice) -> Water:
    """Return the same water with streamtube speeds in place of conveyance ones.

    Each section carries exactly what it carried before. Where the march does not
    reach (an end of the mapped water that lies askew) conveyance stays.

    Parameters
    ----------
    water : Water
        Depth and conveyance speed.
    reach : Reach
        Its bed and sections.
    lattice : Lattice
        The sections to march down.
    """
    if reach.sections.count < FEWEST_SECTIONS or not water.flowing.any():
        return water
    bed = lattice.bed(water.depth_m, reach.roughness, water.flowing)
    whole = reach.sections.stand_in == np.arange(reach.sections.count)
    bed = replace(bed, depth_m=np.where(whole[:, None], bed.depth_m, 0.0))
    found = march(bed)
    wet = bed.depth_m.ravel() > 0
    speed = lattice.to_cells.mean(found.unit_speed.ravel(), wet)
    slow = LEAST_SHARE * water.unit_speed
    speed = np.where(np.isfinite(speed), np.maximum(speed, slow), water.unit_speed)
    speed = np.where(water.flowing, speed, water.unit_speed)
    return replace(
        water,
        unit_speed=speed * _correction(speed, water, reach.sections),
        sheltered=water.flowing & _sheltered(found, lattice, wet),
    )


def _correction(speed: Array, water: Water, sections: Sections) -> Array:
    """Return what makes each section carry what conveyance made it carry."""
    area_m2 = np.where(water.flowing, water.depth_m, 0.0) * sections.width_m
    wanted = sections.total(np.nan_to_num(water.unit_speed) * area_m2)
    carried = sections.total(np.nan_to_num(speed) * area_m2)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(carried > 0, wanted / carried, 1.0)
    return factor[sections.of_cell]


def _sheltered(found: March, lattice: Lattice, wet: Mask) -> Mask:
    share = lattice.to_cells.mean(found.sheltered.ravel().astype(float), wet)
    return np.nan_to_num(share) > 0.5  # noqa: PLR2004 - most of the four nodes
