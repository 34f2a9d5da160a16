"""Which cells of the grid a swim covers, and how much of each.

``gather_cells`` flattens every swim into three long arrays, so that all later
statistics are grouped reductions without a loop over pegs. The covered share of
a cell is exact: every edge of the polygon is cut where it crosses a grid line,
each piece adds the area between itself and the right side of its own cell, and
its height to all cells further right in the row. A running sum along the rows
then holds the covered share (the signed-area accumulation known from the
anti-aliased filling of letter shapes).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import shapely

from pegscore.compiled import runs_compiled
from pegscore.errors import PegError
from pegscore.outlines import Runs, compiled_runs, flat_cells, joined_runs

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from layers.grid import Grid
    from pegscore.compiled import Engine

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

Weighting = Literal["coverage", "centre"]
"""How a cell on a swim's edge counts: by its covered share, or by its centre."""

LEAST_SHARE = 1e-9
"""A covered share below this is rounding noise; one this close to 1 is 1."""


@dataclass(frozen=True, slots=True)
class SwimCells:
    """The cells of many swims as three arrays of one length.

    Parameters
    ----------
    swim : int64 array
        The position of the swim (0 is the first), ascending.
    cell : int64 array
        The flat index of the cell (``raster.ravel()[cell]``), ascending in a swim.
    weight : float64 array
        The share of the cell that the swim takes, above 0 and at most 1.
    """

    swim: Ints
    cell: Ints
    weight: Floats

    def __len__(self) -> int:
        return len(self.swim)

    def only(self, keep: NDArray[np.bool_]) -> SwimCells:
        """Return the entries where ``keep`` is true."""
        return SwimCells(self.swim[keep], self.cell[keep], self.weight[keep])


class _Pieces(NamedTuple):
    """Straight pieces that each lie in one cell, in units of a cell, row downwards."""

    swim: Ints
    column: Floats
    row: Floats
    height: Floats


class _Windows(NamedTuple):
    """A box of cells round each swim, laid end to end in one flat array."""

    top: Ints
    left: Ints
    columns: Ints
    start: Ints
    size: int


def gather_cells(
    grid: Grid,
    swims: gpd.GeoSeries,
    *,
    weighting: Weighting = "coverage",
    engine: Engine = "auto",
) -> SwimCells:
    """Return the cells of each swim and the share of them that it takes.

    Parameters
    ----------
    grid : Grid
        The grid of the layers.
    swims : GeoSeries of Polygon or MultiPolygon
        Valid polygons in the grid's CRS; an empty one gets no cells. What lies off
        the grid is left out.
    weighting : {"coverage", "centre"}, default="coverage"
        ``coverage`` weighs a cell by the exact share of it that is covered, so that
        weights times the cell's area add up to the swim's area; ``centre`` takes a
        cell whole if its centre lies in the swim, and not at all otherwise. A
        centre that lies on the very outline is not in the swim.
    engine : {"auto", "compiled", "numpy"}, default="auto"
        Who does it, see ``pegscore.compiled``: the same cells, and weights alike to
        1e-9.

    Raises
    ------
    PegError
        If the swims are in another CRS than the grid, ``weighting`` or ``engine`` is
        unknown, or the compiled engine is not there.

    Examples
    --------
    A square of half a cell on the border of two cells covers a quarter of each:

    >>> import geopandas as gpd
    >>> from pyproj import CRS
    >>> from shapely import box
    >>> from layers.grid import Bounds, Grid
    >>> crs = CRS("EPSG:27700")
    >>> grid = Grid.covering(Bounds(west=0, east=2, south=0, north=1),
    ...                      cell_m=1, crs=crs)
    >>> swims = gpd.GeoSeries([box(0.5, 0, 1.5, 0.5)], crs=crs)
    >>> cells = gather_cells(grid, swims)
    >>> cells.cell.tolist(), cells.weight.tolist()
    ([0, 1], [0.25, 0.25])
    """
    polygons = _polygons(grid, swims, weighting)
    if runs_compiled(engine, shapely.area(polygons).sum() / grid.cell_area_m2):
        runs = compiled_runs(grid, polygons, by_centre=weighting == "centre")
        return SwimCells(*flat_cells(runs))
    gather = {"coverage": _covered, "centre": _centred}[weighting]
    return gather(grid, polygons)


def gather_runs(
    grid: Grid,
    swims: gpd.GeoSeries,
    *,
    weighting: Weighting = "coverage",
    engine: Engine = "auto",
) -> Runs:
    """Return what ``gather_cells`` does, as runs of neighbouring cells.

    Runs take a tenth of the memory and are what the compiled statistics read.
    """
    polygons = _polygons(grid, swims, weighting)
    if runs_compiled(engine, shapely.area(polygons).sum() / grid.cell_area_m2):
        return compiled_runs(grid, polygons, by_centre=weighting == "centre")
    cells = gather_cells(grid, swims, weighting=weighting, engine="numpy")
    runs = joined_runs(cells.swim, cells.cell, len(swims), columns=grid.columns)
    return runs if weighting == "centre" else runs._replace(weight=cells.weight)


def _polygons(
    grid: Grid, swims: gpd.GeoSeries, weighting: Weighting
) -> NDArray[np.object_]:
    """Return the swims' polygons if they can be gathered."""
    if swims.crs is not None and swims.crs != grid.crs:
        message = (
            f"the swims are in {swims.crs.to_string()} but the grid is in "
            f"{grid.crs.to_string()}; reproject them with .to_crs()"
        )
        raise PegError(message)
    if weighting not in ("coverage", "centre"):
        message = f"the weighting is {weighting!r}; choose 'coverage' or 'centre'"
        raise PegError(message)
    return np.asarray(swims.array, dtype=object)


def _centred(grid: Grid, polygons: NDArray[np.object_]) -> SwimCells:
    found = [
        np.ravel_multi_index(grid.cells_in(polygon), grid.shape) for polygon in polygons
    ]
    swim = np.repeat(np.arange(len(found)), [len(cell) for cell in found])
    cell = np.concatenate([*found, np.empty(0, np.int64)]).astype(np.int64)
    return SwimCells(swim, cell, np.ones(len(cell)))


def _covered(grid: Grid, polygons: NDArray[np.object_]) -> SwimCells:
    pieces = _cut(_edges(grid, polygons))
    windows = _windows(pieces, len(polygons))
    share = _filled(pieces, windows)
    flat = np.flatnonzero(share > LEAST_SHARE)
    swim = np.searchsorted(windows.start, flat, side="right") - 1
    row, column = np.divmod(flat - windows.start[swim], windows.columns[swim])
    row, column = row + windows.top[swim], column + windows.left[swim]
    on_grid = grid.holds(row, column)
    weight = np.where(share > 1.0 - LEAST_SHARE, 1.0, share)[flat]
    cells = SwimCells(swim, row * grid.columns + column, weight)
    return cells.only(on_grid)


def _edges(grid: Grid, polygons: NDArray[np.object_]) -> tuple[Ints, Floats, Floats]:
    """Return each edge's swim, start and end (column, row): outer rings clockwise."""
    parts, swim_of_part = shapely.get_parts(polygons, return_index=True)
    rings, part_of_ring = shapely.get_rings(shapely.normalize(parts), return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    points = (points - (grid.west, grid.north)) * (1, -1) / grid.cell_m
    joined = ring[1:] == ring[:-1]
    swim = swim_of_part[part_of_ring[ring[:-1][joined]]]
    return swim.astype(np.int64), points[:-1][joined], points[1:][joined]


def _cut(edges: tuple[Ints, Floats, Floats]) -> _Pieces:
    """Cut every edge where it crosses a grid line."""
    swim, start, end = edges
    edge = np.arange(len(swim))
    ends = np.concatenate([np.zeros(len(swim)), np.ones(len(swim))])
    crossings = [_crossings(start[:, axis], end[:, axis]) for axis in (0, 1)]
    edge = np.concatenate([edge, edge, *(crossed for crossed, _ in crossings)])
    along = np.concatenate([ends, *(share for _, share in crossings)])
    order = np.lexsort((along, edge))
    edge, along = edge[order], along[order]
    points = start[edge] + along[:, None] * (end - start)[edge]
    joined = edge[1:] == edge[:-1]
    first, last = points[:-1][joined], points[1:][joined]
    middle = (first + last) / 2
    return _Pieces(
        swim=swim[edge[:-1][joined]],
        column=middle[:, 0],
        row=middle[:, 1],
        height=first[:, 1] - last[:, 1],
    )


def _crossings(start: Floats, end: Floats) -> tuple[Ints, Floats]:
    """Return which edges cross a whole number, and how far along, for each crossing."""
    low = np.floor(np.minimum(start, end)).astype(np.int64)
    high = np.ceil(np.maximum(start, end)).astype(np.int64)
    count = np.maximum(high - low - 1, 0)
    edge = np.repeat(np.arange(len(start)), count)
    nth = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    line = low[edge] + 1 + nth
    return edge, (line - start[edge]) / (end - start)[edge]


def _windows(pieces: _Pieces, n_swims: int) -> _Windows:
    low = np.full((2, n_swims), np.iinfo(np.int64).max)
    high = np.full((2, n_swims), np.iinfo(np.int64).min)
    for axis, middle in enumerate((pieces.row, pieces.column)):
        index = np.floor(middle).astype(np.int64)
        np.minimum.at(low[axis], pieces.swim, index)
        np.maximum.at(high[axis], pieces.swim, index)
    empty = low[0] > high[0]
    low[:, empty], high[:, empty] = 0, -1
    rows, columns = high - low + 1
    end = np.cumsum(rows * columns)
    return _Windows(
        top=low[0],
        left=low[1],
        columns=columns,
        start=end - rows * columns,
        size=int(end[-1]) if n_swims else 0,
    )


def _filled(pieces: _Pieces, windows: _Windows) -> Floats:
    """Return the covered share of every cell of the windows."""
    column, row = np.floor(pieces.column), np.floor(pieces.row)
    down = row.astype(np.int64) - windows.top[pieces.swim]
    right = column.astype(np.int64) - windows.left[pieces.swim]
    cell = windows.start[pieces.swim] + down * windows.columns[pieces.swim] + right
    within = pieces.height * (1.0 - (pieces.column - column))
    own = np.bincount(cell, within, windows.size)
    passed_on = np.bincount(cell, pieces.height, windows.size)
    return np.asarray(own + np.cumsum(passed_on) - passed_on, np.float64)
