"""The wet channel straightened: a regular sheet of sections and offsets.

What the eye reads on the water lies along or across the stream, so it is looked for
in rows across the channel, numbered downstream.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np
from scipy import ndimage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel, WetCells
    from layers.grid import Grid

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

ASTRAY_M = 5.0
"""A node whose cell lies so much farther up or down is on another limb. [P]"""

MARGIN = 2
"""Nodes beyond the outermost wet cell, so that every bank is seen."""

WHOLE = 0.9
"""A section of the upper end is whole from this share of the usual width on. [P]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ribbon:
    """Nodes at even chainages and offsets over the mapped water.

    Parameters
    ----------
    channel : Channel
        Whose coordinates they are.
    grid : Grid
        The layers' grid.
    cells : WetCells
        The cells of the mapped water.
    chainage_m : array of float, shape (sections,)
        Growing downstream.
    offset_m : array of float, shape (nodes,)
        From the right bank to the left.
    mapped : array of bool, shape (sections, nodes)
        Nodes that lie in the mapped water, and on this limb of it.
    place : array of float, shape (2, sections, nodes)
        Row and column on the grid; whole numbers are cells' centres.
    """

    channel: Channel
    grid: Grid
    cells: WetCells
    chainage_m: Array
    offset_m: Array
    mapped: Mask
    place: Array

    @classmethod
    def over(cls, channel: Channel, grid: Grid, cells: WetCells | None = None) -> Self:
        """Lay nodes a cell apart over the channel's water, given its cells or not."""
        cells = channel.wet_cells(grid) if cells is None else cells
        step_m = grid.cell_m
        chainage_m = _even(cells.chainage_m, step_m, margin=0)
        offset_m = _even(cells.offset_m, step_m, margin=MARGIN)
        along, across = np.meshgrid(chainage_m, offset_m, indexing="ij")
        easting, northing = channel.to_world(along, across)
        place = np.stack(
            [
                (grid.north - northing) / grid.cell_m - 0.5,
                (easting - grid.west) / grid.cell_m - 0.5,
            ]
        )
        own = np.full(grid.shape, np.inf)
        own[cells.rows, cells.columns] = cells.chainage_m
        near = np.abs(_nearest(own, place) - along)
        return cls(
            channel=channel,
            grid=grid,
            cells=cells,
            chainage_m=chainage_m,
            offset_m=offset_m,
            mapped=near < ASTRAY_M + grid.cell_m,
            place=place,
        )

    @property
    def step_m(self) -> float:
        """Distance between neighbouring nodes, along as across."""
        return self.grid.cell_m

    @property
    def first_whole(self) -> int:
        """The first section that holds the water from bank to bank.

        Mapped water ends askew to the sections, which there hold only part of it.
        """
        wide = self.mapped.sum(axis=1)
        reach = int(np.median(wide))
        usual = (
            float(np.median(wide[reach : 3 * reach + 1])) if wide.size > reach else 0
        )
        return int(np.argmax(wide[: reach + 1] >= WHOLE * usual))

    def sample(self, raster: NDArray[np.float32]) -> Array:
        """Return a raster's values at the nodes, shape (sections, nodes).

        Bilinear among the known cells; ``NaN`` where the nearest cell is unknown or
        the node is not in the mapped water.
        """
        known = np.isfinite(raster)
        total = _bilinear(np.where(known, raster, 0.0), self.place)
        weight = _bilinear(known.astype(np.float64), self.place)
        with np.errstate(divide="ignore", invalid="ignore"):
            value = total / weight
        there = self.mapped & (_nearest(known.astype(np.float64), self.place) > 0)
        return np.where(there, value, np.nan)

    def at_cells(self, values: Array) -> Array:
        """Return, by mapped cell, the value of the nearest node."""
        row = (self.cells.chainage_m - self.chainage_m[0]) / self.step_m
        column = (self.cells.offset_m - self.offset_m[0]) / self.step_m
        near: Array = values[
            np.clip(np.rint(row).astype(int), 0, self.chainage_m.size - 1),
            np.clip(np.rint(column).astype(int), 0, self.offset_m.size - 1),
        ]
        return near


def smoothed_along(values: Array, sigma_nodes: float) -> Array:
    """Return a Gaussian mean down the river over what is known; ``NaN`` stays.

    Nothing is smoothed across, so that no gradient across is worn down.
    """
    known = np.isfinite(values)
    total, weight = (
        ndimage.gaussian_filter1d(part, sigma_nodes, axis=0, mode="nearest")
        for part in (np.where(known, values, 0.0), known.astype(np.float64))
    )
    return np.where(known, total / np.where(known, weight, 1.0), np.nan)


def _even(values_m: Array, step_m: float, *, margin: int) -> Array:
    low, high = float(values_m.min()), float(values_m.max())
    count = int(np.ceil((high - low) / step_m)) + 1 + 2 * margin
    return low + step_m * (np.arange(count, dtype=np.float64) - margin)


def _bilinear(values: Array, place: Array) -> Array:
    found: Array = ndimage.map_coordinates(
        values, place, order=1, mode="constant", cval=0.0
    )
    return found


def _nearest(values: Array, place: Array) -> Array:
    """Return the value of the cell that holds each place; off the grid 0 or far."""
    row, column = np.rint(place).astype(np.int64)
    inside = (row >= 0) & (row < values.shape[0])
    inside &= (column >= 0) & (column < values.shape[1])
    outside = np.inf if np.isinf(values).any() else 0.0
    at = np.where(inside, row, 0), np.where(inside, column, 0)
    return np.where(inside, values[at], outside)
