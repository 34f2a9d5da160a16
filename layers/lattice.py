"""Between the square cells and the channel's own sections, both ways."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from layers.conveyance import BELIEVED
from layers.streamtube import Bed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel, WetCells
    from layers.grid import Grid

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]
    Places = NDArray[np.int64]

MOSTLY = 0.5
"""A node flows where more than so much of the known bed about it does."""
PARTS = 4
"""Places looked at across each strip to see how much of it is water."""
CORNERS = ((0, 0), (0, 1), (1, 0), (1, 1))
LEAST_STRIP_M = 0.5
FEWEST_STRIPS = 24
"""A narrow stream is cut into so many strips at least, but none under half a metre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend:
    """Values at some places as weighted means of values at others.

    Parameters
    ----------
    index : array of int, shape (4, places)
        What each place is blended of.
    weight : array of float, shape (4, places)
        0 where there is nothing to blend.
    """

    index: Places
    weight: Array

    def mean(self, values: Array, counted: Mask) -> Array:
        """Return the weighted mean of the counted values; ``NaN`` without any."""
        weight = np.where(counted[self.index], self.weight, 0.0)
        total = weight.sum(axis=0)
        whole = np.sum(weight * np.where(counted, values, 0.0)[self.index], axis=0)
        with np.errstate(invalid="ignore"):
            return np.where(total > 0, whole / total, np.nan)


@dataclass(eq=False, kw_only=True)
class Lattice:
    """Sections at right angles to the axis, with nodes from right to left.

    Parameters
    ----------
    cells, grid : WetCells, Grid
        The wet cells and their grid.
    chainage_m : array of float, shape (sections,)
        Evenly spaced.
    offset_m : array of float, shape (nodes,)
        Evenly spaced.
    curvature : array of float, shape (sections,)
        Of the axis, 1/m.
    banks_m : array of float, shape (sections,)
        The water's width.
    covered : array of float, shape (sections, nodes)
        The part of each node's strip that lies in the water.
    easting, northing : array of float, shape (sections * nodes,)
        Where the nodes lie.
    """

    cells: WetCells
    grid: Grid
    chainage_m: Array
    offset_m: Array
    curvature: Array
    banks_m: Array
    covered: Array
    easting: Array
    northing: Array

    @classmethod
    def over(
        cls, cells: WetCells, channel: Channel, grid: Grid, chainage_m: Array
    ) -> Lattice:
        """Cover the wet cells with nodes on sections at even chainages."""
        banks_m = channel.width_m(chainage_m)
        finest_m = float(np.median(banks_m)) / FEWEST_STRIPS
        strip_m = max(min(grid.cell_m, finest_m), LEAST_STRIP_M)
        low_m, high_m = float(cells.offset_m.min()), float(cells.offset_m.max())
        count = max(2, round((high_m - low_m) / strip_m) + 1)
        offset_m = np.linspace(low_m, max(high_m, low_m + strip_m), count)
        along, across = np.meshgrid(chainage_m, offset_m, indexing="ij")
        easting, northing = channel.to_world(along.ravel(), across.ravel())
        return cls(
            cells=cells,
            grid=grid,
            chainage_m=chainage_m,
            offset_m=offset_m,
            curvature=channel.curvature(chainage_m),
            banks_m=banks_m,
            covered=_covered(channel, chainage_m, offset_m),
            easting=easting,
            northing=northing,
        )

    @property
    def shape(self) -> tuple[int, int]:
        """Sections and nodes."""
        return self.chainage_m.size, self.offset_m.size

    @cached_property
    def strip_m(self) -> Array:
        """The width that each node stands for, shape (sections, nodes).

        They add up to the width between the banks. A strip partly on land is as
        narrow as its part in the water, so that the banks do not seem to jump from
        section to section.
        """
        between_m = float(self.offset_m[1] - self.offset_m[0])
        covered_m = self.covered * between_m
        filled = self.banks_m / np.maximum(covered_m.sum(axis=1), between_m)
        strip_m: Array = covered_m * np.clip(filled, *BELIEVED)[:, None]
        return strip_m

    @cached_property
    def _number(self) -> Places:
        """Each grid cell's number among the wet cells; -1 is not water."""
        number = np.full(self.grid.shape, -1, np.int64)
        number[self.cells.rows, self.cells.columns] = np.arange(len(self.cells))
        return number

    def _numbered(self, row: Places, column: Places) -> Places:
        inside = self.grid.holds(row, column)
        at = np.where(inside, row, 0), np.where(inside, column, 0)
        return np.where(inside, self._number[at], -1)

    @cached_property
    def from_cells(self) -> Blend:
        """How a node's value is blended of the four cells about it."""
        east = (self.easting - self.grid.west) / self.grid.cell_m - 0.5
        south = (self.grid.north - self.northing) / self.grid.cell_m - 0.5
        column, row = np.floor(east), np.floor(south)
        part = south - row, east - column
        index = [
            self._numbered((row + down).astype(int), (column + right).astype(int))
            for down, right in CORNERS
        ]
        return _blend(np.array(index), part)

    @cached_property
    def to_cells(self) -> Blend:
        """How a cell's value is blended of the four nodes about it."""
        sections, nodes = self.shape
        along = _position(self.cells.chainage_m, self.chainage_m)
        across = _position(self.cells.offset_m, self.offset_m)
        section = np.clip(np.floor(along), 0, sections - 2).astype(np.int64)
        node = np.clip(np.floor(across), 0, nodes - 2).astype(np.int64)
        part = np.clip(along - section, 0, 1), np.clip(across - node, 0, 1)
        index = [(section + on) * nodes + node + left for on, left in CORNERS]
        return _blend(np.array(index), part)

    def bed(self, depth_m: Array, roughness: Array, flowing: Mask) -> Bed:
        """Return the sections of what flows; depth and roughness come by cell."""
        blend = self.from_cells
        known = blend.weight.sum(axis=0)
        flows = np.where(flowing[blend.index], blend.weight, 0.0).sum(axis=0)
        wet = (flows > MOSTLY * known) & (self.covered.ravel() > 0)
        deep = np.where(wet, blend.mean(depth_m, flowing), 0.0)
        rough = np.where(wet, blend.mean(roughness, flowing), 1.0)
        return Bed(
            offset_m=self.offset_m,
            strip_m=self.strip_m,
            step_m=float(self.chainage_m[1] - self.chainage_m[0]),
            curvature=self.curvature,
            depth_m=deep.reshape(self.shape),
            roughness=rough.reshape(self.shape),
        )


def _covered(channel: Channel, chainage_m: Array, offset_m: Array) -> Array:
    """Return the part of each node's strip in the water, shape (sections, nodes)."""
    between_m = offset_m[1] - offset_m[0]
    aside = ((np.arange(PARTS) + 0.5) / PARTS - 0.5) * between_m
    across = (offset_m[:, None] + aside).ravel()
    along, across = np.meshgrid(chainage_m, across, indexing="ij")
    easting, northing = channel.to_world(along.ravel(), across.ravel())
    shapely.prepare(channel.water)
    inside = shapely.contains_xy(channel.water, easting, northing)
    parts = inside.reshape(chainage_m.size, offset_m.size, PARTS)
    return np.asarray(parts.mean(axis=2), np.float64)


def _position(values_m: Array, even_m: Array) -> Array:
    place: Array = (values_m - even_m[0]) / (even_m[1] - even_m[0])
    return place


def _blend(index: Places, part: tuple[Array, Array]) -> Blend:
    """Weigh four corners by how near they are; -1 is none."""
    first, second = part
    weight = [
        np.abs(1 - up - first) * np.abs(1 - right - second) for up, right in CORNERS
    ]
    known = index >= 0
    return Blend(
        index=np.where(known, index, 0), weight=np.where(known, np.array(weight), 0.0)
    )
