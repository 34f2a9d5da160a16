"""A layer laid out as web maps draw it, in step with the outlines.

A picture stretched between two corners lies right only in the map's own
projection, spherical Mercator. Each pixel's centre is taken back to the survey's
grid by the very transformation that places the outlines, so the two cannot
drift apart: another library's choice of datum shift put a layer 85 m beside its
river, outside the system's area of use.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from pyproj import Transformer

from layers.river import WGS84

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.grid import Grid

EDGE_STEPS = 21
"""Points along each side of the grid that its web frame has to hold."""


class WebFrame:
    """The frame of web pixels over one grid.

    Parameters
    ----------
    grid : Grid
        The survey's grid.

    Attributes
    ----------
    corners : tuple of float
        South, west, north, east in WGS 84 degrees.
    shape : tuple of int
        Rows and columns of the picture: pixels about as fine as the cells.
    """

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self._to_degrees = Transformer.from_crs(grid.crs, WGS84, always_xy=True)
        longitude, latitude = self._to_degrees.transform(*_rim(grid))
        height = mercator(latitude)
        self.west, self.east = float(np.min(longitude)), float(np.max(longitude))
        self._bottom, self._top = float(np.min(height)), float(np.max(height))
        south, north = (float(latitude_of(y)) for y in (self._bottom, self._top))
        self.corners = (south, self.west, north, self.east)
        self.shape = self._shape()

    def sample(self, values: NDArray[np.float32]) -> NDArray[np.float32]:
        """Return each pixel's cell of a layer, ``NaN`` outside the grid."""
        row, column = self._cells
        inside = self.grid.holds(row, column)
        picture = np.full(self.shape, np.nan, np.float32)
        picture[inside] = values[row[inside], column[inside]]
        return picture

    @cached_property
    def _cells(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        rows, columns = self.shape
        across = (np.arange(columns) + 0.5) / columns
        down = (np.arange(rows) + 0.5) / rows
        longitude = self.west + across * (self.east - self.west)
        latitude = latitude_of(self._top - down * (self._top - self._bottom))
        easting, northing = self._to_degrees.transform(
            *np.meshgrid(longitude, latitude), direction="INVERSE"
        )
        return self.grid.cell_at(easting, northing)

    def _shape(self) -> tuple[int, int]:
        wide = np.radians(self.east - self.west)
        high = self._top - self._bottom
        pixel = np.sqrt(wide * high / (self.grid.rows * self.grid.columns))
        return max(1, round(high / pixel)), max(1, round(wide / pixel))


def mercator(latitude: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the height of a latitude (degrees) in spherical Mercator, radians.

    Examples
    --------
    >>> mercator(np.array([0.0, 85.0511287798]))
    array([0.        , 3.14159265])
    """
    return np.arcsinh(np.tan(np.radians(latitude)))


def latitude_of(height: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Return the latitude (degrees) of a height: ``mercator`` undone."""
    return np.asarray(np.degrees(np.arctan(np.sinh(height))), np.float64)


def _rim(grid: Grid) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    share = np.linspace(0, 1, EDGE_STEPS)
    low, high = np.zeros(EDGE_STEPS), np.ones(EDGE_STEPS)
    across = np.concatenate([share, share, low, high])
    down = np.concatenate([low, high, share, share])
    easting = grid.west + across * grid.columns * grid.cell_m
    return easting, grid.north - down * grid.rows * grid.cell_m
