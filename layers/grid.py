"""The one grid that all layers of a survey share: pixel arithmetic lives here.

Arrays are (row, column) with row 0 in the north; world pairs are
(easting, northing) in metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from layers.errors import GridMismatch, LayerError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

MOST_CELLS = 60_000_000
"""A grid above this is refused: it would not fit an old laptop's memory."""


class Bounds(NamedTuple):
    """A box in world coordinates, metres."""

    west: float
    east: float
    south: float
    north: float

    @classmethod
    def of(cls, geometry: BaseGeometry) -> Bounds:
        """Return the box round a geometry."""
        west, south, east, north = geometry.bounds
        return cls(west=west, east=east, south=south, north=north)

    def grown(self, margin_m: float) -> Bounds:
        """Return the box with a margin on every side."""
        return Bounds(
            west=self.west - margin_m,
            east=self.east + margin_m,
            south=self.south - margin_m,
            north=self.north + margin_m,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Square cells, north up, aligned to whole multiples of the cell size.

    Parameters
    ----------
    west, north : float
        The outer corner of cell (0, 0), metres.
    cell_m : float
        The side of a cell, metres.
    rows, columns : int
        The array shape.
    crs : pyproj.CRS
        The survey's projected reference system.
    """

    west: float
    north: float
    cell_m: float
    rows: int
    columns: int
    crs: CRS

    @classmethod
    def covering(cls, bounds: Bounds, *, cell_m: float, crs: CRS) -> Grid:
        """Return the smallest aligned grid that covers ``bounds``.

        Raises
        ------
        LayerError
            If ``cell_m`` is not a positive number, or the grid would hold more
            than ``MOST_CELLS`` cells.

        Examples
        --------
        >>> from pyproj import CRS
        >>> grid = Grid.covering(Bounds(west=1, east=9, south=2, north=11),
        ...                      cell_m=5.0, crs=CRS("EPSG:27700"))
        >>> grid.shape, grid.west, grid.north
        ((3, 2), 0.0, 15.0)
        """
        if not (math.isfinite(cell_m) and cell_m > 0):
            message = (
                f"the cell size is {cell_m}; give a positive number of metres, "
                "for example --cell 1"
            )
            raise LayerError(message)
        west = math.floor(bounds.west / cell_m) * cell_m
        north = math.ceil(bounds.north / cell_m) * cell_m
        columns = max(1, math.ceil((bounds.east - west) / cell_m))
        rows = max(1, math.ceil((north - bounds.south) / cell_m))
        if rows * columns > MOST_CELLS:
            message = (
                f"a grid of {rows} x {columns} cells of {cell_m} m holds more than "
                f"{MOST_CELLS:,} cells; choose a larger --cell or split the stretch"
            )
            raise LayerError(message)
        return cls(
            west=west, north=north, cell_m=cell_m, rows=rows, columns=columns, crs=crs
        )

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.columns

    @property
    def bounds(self) -> Bounds:
        """The outer edges of the grid."""
        return Bounds(
            west=self.west,
            east=self.west + self.columns * self.cell_m,
            south=self.north - self.rows * self.cell_m,
            north=self.north,
        )

    @property
    def cell_area_m2(self) -> float:
        """The area of one cell."""
        return self.cell_m**2

    def centres(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return easting per column and northing per row of the cell centres."""
        columns = np.arange(self.columns, dtype=np.float64)
        rows = np.arange(self.rows, dtype=np.float64)
        easting = self.west + (columns + 0.5) * self.cell_m
        northing = self.north - (rows + 0.5) * self.cell_m
        return easting, northing

    def cell_at(
        self, easting: ArrayLike, northing: ArrayLike
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the row and column that hold each point.

        A point outside the grid gets indices outside ``shape``: ask ``holds``.
        """
        column = np.floor((np.asarray(easting, float) - self.west) / self.cell_m)
        row = np.floor((self.north - np.asarray(northing, float)) / self.cell_m)
        return row.astype(np.int64), column.astype(np.int64)

    def holds(self, row: ArrayLike, column: ArrayLike) -> NDArray[np.bool_]:
        """Return which (row, column) pairs lie on the grid."""
        row, column = np.asarray(row), np.asarray(column)
        inside: NDArray[np.bool_] = (
            (row >= 0) & (row < self.rows) & (column >= 0) & (column < self.columns)
        )
        return inside

    def cells_in(
        self, geometry: BaseGeometry
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the rows and columns of the cells whose centre is in a geometry."""
        if geometry.is_empty:
            return np.empty(0, np.int64), np.empty(0, np.int64)
        box = Bounds.of(geometry)
        top, left = self.cell_at(box.west, box.north)
        bottom, right = self.cell_at(box.east, box.south)
        rows = np.arange(max(int(top), 0), min(int(bottom) + 1, self.rows))
        columns = np.arange(max(int(left), 0), min(int(right) + 1, self.columns))
        easting, northing = self.centres()
        shapely.prepare(geometry)
        inside = shapely.contains_xy(
            geometry, easting[columns][None, :], northing[rows][:, None]
        )
        row, column = np.nonzero(inside)
        return rows[row], columns[column]

    def mask_of(self, geometry: BaseGeometry) -> NDArray[np.bool_]:
        """Return the mask of the cells whose centre lies in a geometry."""
        mask = np.zeros(self.shape, bool)
        mask[self.cells_in(geometry)] = True
        return mask

    def require_same(self, other: Grid, *, what: str) -> None:
        """Raise ``GridMismatch`` unless ``other`` is this very grid."""
        if self != other:
            message = (
                f"{what} lies on a grid of {other.shape} cells of {other.cell_m} m "
                f"from ({other.west}, {other.north}) but {self.shape} of "
                f"{self.cell_m} m from ({self.west}, {self.north}) is wanted; "
                "build both from one survey with one --cell"
            )
            raise GridMismatch(message)
