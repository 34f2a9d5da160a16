"""Lines of equal value through a raster."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import LineString

    from layers.grid import Grid


def level_lines(
    values: NDArray[np.floating], grid: Grid, *, at: float
) -> list[LineString]:
    """Return the lines on which a raster, linear between cell centres, has a value.

    Parameters
    ----------
    values : array of float, shape (row, column)
        ``NaN`` is unknown; lines end there.
    grid : Grid
        Where the cells lie.
    at : float
        The value.
    """
    from contourpy import contour_generator  # noqa: PLC0415 - only where it is wanted

    easting, northing = grid.centres()
    known = np.ma.masked_invalid(values.astype(np.float64))
    generator = contour_generator(easting, northing, known, corner_mask=True)
    parts = [np.asarray(part) for part in generator.lines(at)]
    return [shapely.LineString(part) for part in parts if len(part) > 1]
