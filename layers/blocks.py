"""A river in blocks along the stream, for what does not fit in memory at once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from layers.errors import LayerError
from layers.grid import Bounds, Grid

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import LineString

    Floats = NDArray[np.float64]

BLOCK_M = 250.0
"""Length of a block along the stream: its layers fit the processor's cache."""


class Window(NamedTuple):
    """A box of cells of a grid: its first row and column, and its size."""

    top: int
    left: int
    rows: int
    columns: int

    @classmethod
    def round(cls, bounds: Bounds, grid: Grid) -> Window:
        """Return the window of all cells that touch a box; at least one cell.

        What lies off the grid is left out.
        """
        top, left = (int(at) for at in grid.cell_at(bounds.west, bounds.north))
        bottom, right = (int(at) for at in grid.cell_at(bounds.east, bounds.south))
        top, left = _within(top, grid.rows), _within(left, grid.columns)
        bottom, right = _within(bottom, grid.rows), _within(right, grid.columns)
        return cls(top, left, bottom - top + 1, right - left + 1)

    def of(self, grid: Grid) -> Grid:
        """Return the part of the grid in the window.

        Examples
        --------
        >>> from pyproj import CRS
        >>> grid = Grid.covering(Bounds(west=0, east=9, south=0, north=9),
        ...                      cell_m=1, crs=CRS("EPSG:27700"))
        >>> part = Window(top=2, left=3, rows=4, columns=5).of(grid)
        >>> part.west, part.north, part.shape
        (3, 7, (4, 5))
        """
        return Grid(
            west=grid.west + self.left * grid.cell_m,
            north=grid.north - self.top * grid.cell_m,
            cell_m=grid.cell_m,
            rows=self.rows,
            columns=self.columns,
            crs=grid.crs,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A piece of the river: from where to where along the stream, and its cells.

    A swim belongs to the block in which its place along the stream lies, from
    ``start_m`` on and before ``end_m``; the window reaches further by the halo, so
    that it holds all of that swim.
    """

    start_m: float
    end_m: float
    window: Window


def cut_blocks(
    grid: Grid, line: LineString, *, halo_m: float, length_m: float = BLOCK_M
) -> list[Block]:
    """Cut a river into blocks along its line, upstream first.

    Parameters
    ----------
    grid : Grid
        The grid of the layers.
    line : LineString
        The river's middle, drawn downstream, metres.
    halo_m : float
        How far a swim can reach from its place on the line: half the river's width
        and the length of one swim.
    length_m : float, default=250
        The length of a block.

    Returns
    -------
    list of Block
        One after the other from 0 to the line's length, the last one shorter.

    Raises
    ------
    LayerError
        If a length is not a positive number.

    Examples
    --------
    >>> from pyproj import CRS
    >>> grid = Grid.covering(Bounds(west=0, east=1000, south=0, north=60),
    ...                      cell_m=1, crs=CRS("EPSG:27700"))
    >>> line = shapely.LineString([(0, 30), (1000, 30)])
    >>> blocks = cut_blocks(grid, line, halo_m=40, length_m=400)
    >>> [(block.start_m, block.end_m) for block in blocks]
    [(0.0, 400.0), (400.0, 800.0), (800.0, 1000.0)]
    >>> blocks[1].window
    Window(top=0, left=360, rows=60, columns=481)
    """
    if not (math.isfinite(length_m) and length_m > 0 and halo_m > 0):
        message = (
            f"a block of {length_m} m with a halo of {halo_m} m cannot be cut; "
            "give positive numbers of metres"
        )
        raise LayerError(message)
    points = shapely.get_coordinates(line)
    along_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    whole_m = float(along_m[-1])
    count = max(1, math.ceil(whole_m / length_m - 1e-9))
    ends_m = [float(min(i * length_m, whole_m)) for i in range(count + 1)]
    return [
        Block(
            start_m=start_m,
            end_m=end_m,
            window=Window.round(
                _reach(points, along_m, start_m, end_m).grown(halo_m), grid
            ),
        )
        for start_m, end_m in pairwise(ends_m)
    ]


def _reach(points: Floats, along_m: Floats, start_m: float, end_m: float) -> Bounds:
    """Return the box round a piece of a line, whose vertices lie ``along_m``."""
    first, last = np.searchsorted(along_m, [start_m, end_m], side="right")
    ends = []
    for at_m, vertex in ((start_m, first), (end_m, last)):
        cut = slice(max(vertex - 1, 0), vertex + 1)
        ends.append([np.interp(at_m, along_m[cut], xy[cut]) for xy in points.T])
    piece = np.concatenate([points[first:last], ends])
    (west, south), (east, north) = piece.min(axis=0), piece.max(axis=0)
    return Bounds(
        west=float(west), east=float(east), south=float(south), north=float(north)
    )


def _within(index: int, count: int) -> int:
    return min(max(index, 0), count - 1)
