"""How a discharge spreads over the wet cells: conveyance across the channel.

Every section, a slice of cells of like chainage, carries the same discharge. It
is shared out by depth and roughness: ``u = h^(2/3) / n * sqrt(Sf)`` with
``Sf = (Q / K)²`` and ``K = sum(h^(5/3) / n * width)`` over the section, so that
``sum(u * h * width) = Q`` (the lateral limit of the divided-channel method, Chow
1959, from memory).

What it cannot know: inertia, so bends and pools answer at once; eddies and the
lee of points and groynes; a bay joined to the river gets the speed of its depth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from scipy import ndimage

from layers.hydraulics import reach_conveyance

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel, WetCells
    from layers.grid import Grid
    from layers.waterline import Waterline

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

Core = Literal["planar", "inertial", "conveyance"]

DRY_M = 0.05
"""Shallower than this counts as dry (proposal, common in flood models)."""
SECTION_CELLS = 2.0
LEAST_SECTION_M = 2.0
BELIEVED = (0.6, 1.6)
"""Width of a section by its cells over what it should be: beyond this, cells are
missing or do not belong (proposal)."""
FEWEST_REACHES = 4
"""Shorter water, in widths, has no inner part to judge its ends by (proposal)."""
LEAST_SPREAD = 0.3
"""Bounds the area element 1 - offset * curvature where a bend is very tight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sections:
    """Slices of cells of like chainage, numbered downstream.

    Parameters
    ----------
    of_cell : array of int, shape (cells,)
        The section each cell lies in.
    width_m : array of float, shape (cells,)
        The width across the channel that the cell stands for in its section. They
        add up to the width between the banks, so that it does not matter how many
        cell centres a section happens to catch.
    middle_m : array of float, shape (sections,)
        The chainage of each section's middle; they lie evenly apart.
    stand_in : array of int, shape (sections,)
        The section itself; or, where the mapped water ends askew and holds only
        part of a section, the nearest whole one.
    """

    of_cell: NDArray[np.int64]
    width_m: Array
    middle_m: Array
    stand_in: NDArray[np.int64]

    @classmethod
    def cut(cls, cells: WetCells, channel: Channel, grid: Grid) -> Sections:
        """Cut the wet cells into sections about two cells, at least 2 m, long."""
        first_m = float(cells.chainage_m.min()) - grid.cell_m / 2
        span_m = float(np.ptp(cells.chainage_m)) + grid.cell_m
        wanted_m = max(SECTION_CELLS * grid.cell_m, LEAST_SECTION_M)
        count = max(1, round(span_m / wanted_m))
        step_m = span_m / count
        of_cell = np.floor((cells.chainage_m - first_m) / step_m).astype(np.int64)
        of_cell = np.clip(of_cell, 0, count - 1)
        bend = cells.offset_m * channel.curvature(cells.chainage_m)
        element = np.clip(1.0 - bend, LEAST_SPREAD, 2.0 - LEAST_SPREAD)
        width_m = grid.cell_area_m2 / (step_m * element)
        middle_m = first_m + step_m * (np.arange(count, dtype=np.float64) + 0.5)
        banks_m = channel.width_m(middle_m)
        by_cells_m = np.bincount(of_cell, weights=width_m, minlength=count).astype(
            np.float64
        )
        filled = np.clip(by_cells_m / banks_m, *BELIEVED)
        reach = round(float(np.median(banks_m)) / step_m)
        return cls(
            of_cell=of_cell,
            width_m=width_m / filled[of_cell],
            middle_m=middle_m,
            stand_in=_stand_ins(by_cells_m, reach=reach),
        )

    @property
    def count(self) -> int:
        """How many sections there are."""
        return self.stand_in.size

    def total(self, values: Array) -> Array:
        """Return the sum of a value a cell over each section."""
        totals: Array = np.bincount(
            self.of_cell, weights=values, minlength=self.count
        ).astype(np.float64)
        return totals


def _stand_ins(wide_m: Array, *, reach: int) -> NDArray[np.int64]:
    """Point sections that are not whole, near either end, to the nearest that is.

    An end section is whole if it is about as wide as those one to three widths
    farther in.
    """
    index = np.arange(wide_m.size)
    if wide_m.size < FEWEST_REACHES * max(reach, 1):
        return index
    fellow_m = np.where(
        index < wide_m.size / 2,
        np.median(wide_m[reach : 3 * reach + 1]),
        np.median(wide_m[-3 * reach - 1 : wide_m.size - reach]),
    )
    least, most = BELIEVED
    alike = (wide_m >= least * fellow_m) & (wide_m <= most * fellow_m)
    inner = (index >= reach) & (index < wide_m.size - reach)
    whole = index[inner | alike]
    after = np.clip(np.searchsorted(whole, index), 0, whole.size - 1)
    before = np.maximum(after - 1, 0)
    nearer = np.abs(whole[before] - index) <= np.abs(whole[after] - index)
    stand_in: NDArray[np.int64] = np.where(nearer, whole[before], whole[after])
    return stand_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """The reach at one level.

    Parameters
    ----------
    depth_m : array of float, shape (cells,)
        ``NaN`` where dry or where the bed is unknown.
    flowing : array of bool, shape (cells,)
        Wet and joined to the main stem; wet cells that are not are pools.
    carried_m3_s : array of float, shape (sections,)
        Conveyance ``K`` of each section; ``NaN`` where nothing flows.
    unit_speed : array of float, shape (cells,)
        Speed per unit of discharge, 1/m²; 0 in pools, ``NaN`` where not wet.
    sheltered : array of bool, shape (cells,)
        Flowing water in the lee of something or in a dead end, as far as the way
        the speeds were found can tell: conveyance cannot.
    ahead : array of float, shape (cells,)
        The part of the speed that goes along the channel: 1 straight on, negative
        where water turns back; 1 too where the core does not tell.
    core : {'conveyance', 'inertial', 'planar'}
        How the speeds were found.
    """

    depth_m: Array
    flowing: Mask
    carried_m3_s: Array
    unit_speed: Array
    sheltered: Mask
    ahead: Array
    core: Core = "conveyance"

    @property
    def pools(self) -> Mask:
        """Wet cells cut off from the main stem."""
        return np.isfinite(self.depth_m) & ~self.flowing

    @property
    def reach_m3_s(self) -> float:
        """The conveyance of the reach as a whole, ``NaN`` if nothing flows."""
        carried = self.carried_m3_s[np.isfinite(self.carried_m3_s)]
        return reach_conveyance(carried) if carried.size else float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Everything about the wet cells that does not change with the level."""

    cells: WetCells
    grid: Grid
    sections: Sections
    bed_m: Array
    roughness: Array
    waterline: Waterline

    def at(self, level_m: float, *, bend_m: Array | float = 0.0) -> Water:
        """Return depth, conveyance and speed per unit discharge at a level.

        Parameters
        ----------
        level_m : float
            The board's reading.
        bend_m : array of float, shape (cells,), default=0
            How far the surface lies above the evenly falling one.
        """
        surface_m = self.waterline.elevation_m(self.cells.chainage_m, level_m)
        surface_m = surface_m + bend_m
        depth_m = surface_m - self.bed_m
        unknown = ~np.isfinite(depth_m)
        wet = ~unknown & (depth_m > DRY_M)
        depth_m = np.where(wet, depth_m, np.nan)
        carried = np.where(wet, depth_m ** (5 / 3) / self.roughness, 0.0)
        carried *= self.sections.width_m
        flowing = wet & self._joined(wet | unknown, carried)
        total = self._section_conveyance(np.where(flowing, carried, 0.0), unknown)
        own = total[self.sections.of_cell]
        unit = np.where(flowing, np.cbrt(depth_m) ** 2 / self.roughness / own, 0.0)
        return Water(
            depth_m=depth_m,
            flowing=flowing,
            carried_m3_s=total,
            unit_speed=np.where(wet, unit, np.nan),
            sheltered=np.zeros(wet.shape, bool),
            ahead=np.ones(wet.shape),
        )

    def _section_conveyance(self, carried: Array, unknown: Mask) -> Array:
        """Sum conveyance by section; unknown bed carries like the known beside it."""
        total = self.sections.total(carried)
        width_m = self.sections.width_m
        known_m = self.sections.total(np.where(carried > 0, width_m, 0.0))
        unknown_m = self.sections.total(np.where(unknown, width_m, 0.0))
        with np.errstate(divide="ignore", invalid="ignore"):
            total = total * (1.0 + unknown_m / known_m)
        total = np.where(known_m > 0, total, np.nan)
        whole = total[self.sections.stand_in]
        return np.where(np.isfinite(whole), whole, total)

    def _joined(self, water: Mask, carried: Array) -> Mask:
        """Return which cells are joined to the main stem.

        Cells join by side or corner, and through cells of unknown bed. The main
        stem is every body of water that carries the most in some section.
        """
        raster = np.zeros(self.grid.shape, bool)
        raster[self.cells.rows, self.cells.columns] = water
        bodies, count = ndimage.label(raster, structure=np.ones((3, 3)))
        body = bodies[self.cells.rows, self.cells.columns].astype(np.int64)
        key = self.sections.of_cell * (count + 1) + body
        pairs, place = np.unique(key, return_inverse=True)
        share = np.bincount(place, weights=carried)
        section = pairs // (count + 1)
        order = np.lexsort((share, section))
        last = np.append(np.diff(section[order]) > 0, True)
        leading = order[last & (share[order] > 0)]
        return np.isin(body, pairs[leading] % (count + 1))
