"""Layers read at single places, between the centres of cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from layers.errors import LayerError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.grid import Grid
    from layers.stack import Stack

    Floats = NDArray[np.float64]

KNOWN = 0.5
"""A place is known if known cells carry this much of its bilinear weight."""


def at_points(
    raster: NDArray[np.floating], grid: Grid, easting: Floats, northing: Floats
) -> Floats:
    """Return a raster's values at places, bilinear over the cells that are known.

    Returns
    -------
    array of float, shape as ``easting``
        ``NaN`` where unknown cells carry more than half of the weight, and off the
        grid.

    Examples
    --------
    >>> from pyproj import CRS
    >>> from layers.grid import Bounds, Grid
    >>> grid = Grid.covering(Bounds(west=0, east=2, south=0, north=1),
    ...                      cell_m=1, crs=CRS("EPSG:27700"))
    >>> at_points(np.array([[1.0, 3.0]]), grid, np.array([0.5, 1.0]), np.full(2, 0.5))
    array([1., 2.])
    """
    east, north = np.asarray(easting, float), np.asarray(northing, float)
    column = (east - grid.west) / grid.cell_m - 0.5
    row = (grid.north - north) / grid.cell_m - 0.5
    raster, row, column = _windowed(raster, row, column)
    known = np.isfinite(raster)
    sums = [
        ndimage.map_coordinates(part, [row, column], order=1, mode="constant")
        for part in (np.where(known, raster, 0.0).astype(float), known.astype(float))
    ]
    with np.errstate(invalid="ignore", divide="ignore"):
        values: Floats = np.where(sums[1] >= KNOWN, sums[0] / sums[1], np.nan)
    return values


def _windowed(
    raster: NDArray[np.floating], row: Floats, column: Floats
) -> tuple[NDArray[np.floating], Floats, Floats]:
    """Return the part of a raster round some places: a swim is not a whole river."""
    if not row.size or not (np.isfinite(row).all() and np.isfinite(column).all()):
        return raster, row, column
    top, left = (max(0, int(np.floor(at.min())) - 1) for at in (row, column))
    bottom, right = (int(np.ceil(at.max())) + 2 for at in (row, column))
    part = raster[top : max(bottom, top + 1), left : max(right, left + 1)]
    return (part, row - top, column - left) if part.size else (raster, row, column)


def layer_at(
    stack: Stack, name: str, easting: Floats, northing: Floats, *, level_m: float
) -> Floats:
    """Return a layer's values at places; ``NaN`` where the stack has no such layer.

    Raises
    ------
    LevelMissing
        If the stack was not built at ``level_m``.
    """
    stack.layer("depth", level_m=level_m)  # the level must be there
    try:
        raster = stack.layer(name, level_m=level_m)
    except LayerError:
        return np.full(np.shape(easting), np.nan)
    return at_points(raster, stack.grid, easting, northing)
