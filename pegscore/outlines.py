"""Many swims' outlines and cells as a few flat arrays, as the kernels take them."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.grid import Grid

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

POLYGON = 3
"""The type number of a polygon of one part."""


class Outlines(NamedTuple):
    """The rings of many swims, one after the other.

    ``points`` are closed rings of (easting, northing); ``ring[i]`` is where ring
    ``i`` begins in them and ``swim[j]`` the first ring of swim ``j``, each with the
    end appended; ``hole`` says which rings bound a hole.
    """

    points: Floats
    ring: Ints
    swim: Ints
    hole: NDArray[np.bool_]


class Runs(NamedTuple):
    """The cells of many swims as runs of neighbours in a row of the grid.

    ``first`` is the flat index of a run's first cell, ``length`` how many follow in
    the row, ``swim[j]`` the first run of swim ``j`` with the end appended. ``weight``
    holds one share a cell, run after run; it is empty where every cell counts whole.
    """

    first: Ints
    length: Ints
    swim: Ints
    weight: Floats


def outlines(polygons: NDArray[np.object_]) -> Outlines:
    """Return the rings of polygons of one or more parts; empty ones have none."""
    if _are_plain(polygons):
        own = shapely.get_num_coordinates(polygons).astype(np.int64)
        every = np.arange(len(polygons) + 1)
        points = np.ascontiguousarray(shapely.get_coordinates(polygons))
        return Outlines(points, _starts(own), every, np.zeros(len(polygons), bool))
    parts, owner = polygons, np.arange(len(polygons))
    if (shapely.get_type_id(polygons) != POLYGON).any():
        parts, owner = shapely.get_parts(polygons, return_index=True)
    rings, part = shapely.get_rings(parts, return_index=True)
    count = shapely.get_num_coordinates(rings)
    filled = count > 0
    rings, part, count = rings[filled], part[filled], count[filled]
    swim = owner[part]
    return Outlines(
        points=np.ascontiguousarray(shapely.get_coordinates(rings)),
        ring=_starts(count.astype(np.int64)),
        swim=np.searchsorted(swim, np.arange(len(polygons) + 1)).astype(np.int64),
        hole=np.concatenate([[False], part[1:] == part[:-1]])[: len(part)],
    )


def _are_plain(polygons: NDArray[np.object_]) -> bool:
    """Say whether all are of one part, without a hole, and none is empty."""
    return bool(
        (shapely.get_type_id(polygons) == POLYGON).all()
        and not shapely.get_num_interior_rings(polygons).any()
        and not shapely.is_empty(polygons).any()
    )


def compiled_runs(
    grid: Grid, polygons: NDArray[np.object_], *, by_centre: bool
) -> Runs:
    """Return the cells of polygons by the compiled kernels.

    Parameters
    ----------
    grid : Grid
        The grid of the layers.
    polygons : array of Polygon or MultiPolygon
        In the grid's CRS.
    by_centre : bool
        Cells whose centre lies inside, whole; otherwise all, by their covered share.
    """
    told = outlines(polygons)
    frame = (
        float(grid.west),
        float(grid.north),
        float(grid.cell_m),
        grid.rows,
        grid.columns,
    )
    if by_centre:
        kernel = import_module("pegscore.scanlines").centre_runs
        first, length, start = kernel(told.points, told.ring, told.swim, frame)
        return Runs(first, length, start, np.empty(0))
    kernel = import_module("pegscore.covering").covered_runs
    return Runs(*kernel(told.points, told.ring, told.swim, told.hole, frame))


def joined_runs(swim: Ints, cell: Ints, n_swims: int, *, columns: int) -> Runs:
    """Join cells, ascending in each swim, to runs.

    Examples
    --------
    >>> runs = joined_runs(np.array([0, 0, 0, 1]), np.array([2, 3, 4, 5]), 2, columns=4)
    >>> runs.first.tolist(), runs.length.tolist(), runs.swim.tolist()
    ([2, 4, 5], [2, 1, 1], [0, 2, 3])
    """
    breaks = (np.diff(cell) != 1) | (np.diff(swim) != 0) | (cell[1:] % columns == 0)
    begin = np.flatnonzero(np.concatenate([[True], breaks])[: len(cell)])
    return Runs(
        first=cell[begin],
        length=np.diff(np.append(begin, len(cell))),
        swim=np.searchsorted(swim[begin], np.arange(n_swims + 1)).astype(np.int64),
        weight=np.empty(0),
    )


def flat_cells(runs: Runs) -> tuple[Ints, Ints, Floats]:
    """Return the swim, the flat index and the weight of every cell of runs."""
    begin = np.cumsum(runs.length) - runs.length
    cell = np.repeat(runs.first - begin, runs.length) + np.arange(runs.length.sum())
    of_run = np.repeat(np.arange(len(runs.swim) - 1), np.diff(runs.swim))
    weight = runs.weight if len(runs.weight) else np.ones(len(cell))
    return np.repeat(of_run, runs.length), cell, weight


def _starts(count: Ints) -> Ints:
    return np.concatenate([[0], np.cumsum(count)]).astype(np.int64)
