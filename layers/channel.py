"""Channel-fitted coordinates: how far down the river, how far off its middle.

``chainage_m`` grows downstream from 0 at the upstream end of the centreline;
``offset_m`` is positive towards the LEFT bank, as seen facing downstream. Both
are metres along, and at right angles to, a smoothed axis, and run on straight
beyond its ends (chainage below 0 or above ``length_m``), so that nothing piles
up there. Islands do not matter: the offset continues across them.

Where a bend is so tight that lines at right angles to the axis would nearly meet
inside the water, the whole reach gets harmonic coordinates instead; see
:mod:`layers.harmonic` for what its metres are worth.

Limits: a point belongs to the nearest part of the axis, so a place on the neck
of land inside a tight loop may be given to either limb. Heading and curvature
are the axis' own also where coordinates are harmonic.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from layers.axis import Axis
from layers.crosslines import cross_lines
from layers.errors import LayerError
from layers.harmonic import HarmonicFrame

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely import LineString, Polygon

    from layers.grid import Grid

    Array = NDArray[np.float64]

SMOOTHING_WIDTHS = 0.5
"""Window of the axis in channel widths: W/2 to W, reference notes 5.4 [P]."""

TIGHTEST = 0.8
"""Offset times curvature from which coordinates are harmonic, notes 5.4 [P]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WetCells:
    """The cells whose centre lies in the water, one entry a cell, row by row.

    Parameters
    ----------
    rows, columns : array of int64, shape (n,)
        Where the cells lie on the grid.
    easting, northing : array of float64, shape (n,)
        Their centres, metres.
    chainage_m, offset_m : array of float64, shape (n,)
        Their centres in channel-fitted coordinates.
    """

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    easting: Array
    northing: Array
    chainage_m: Array
    offset_m: Array

    def __len__(self) -> int:
        """Return the number of cells."""
        return len(self.rows)


def scatter(cells: WetCells, values: ArrayLike, grid: Grid) -> NDArray[np.float32]:
    """Lay one value a wet cell on to the grid; ``NaN`` everywhere else.

    Raises
    ------
    LayerError
        If there is not one value a cell.
    """
    values = np.asarray(values)
    if values.shape != cells.rows.shape:
        message = (
            f"{values.shape} values for {len(cells)} wet cells; "
            "give one value a cell, in the order of the cells"
        )
        raise LayerError(message)
    raster = np.full(grid.shape, np.nan, np.float32)
    raster[cells.rows, cells.columns] = values
    return raster


class Channel:
    """The river's own coordinates, made with :meth:`fit`.

    Parameters
    ----------
    axis : Axis
        The smoothed centreline.
    water : Polygon
        The wetted area at normal level, islands as holes.

    Examples
    --------
    >>> from shapely import LineString, box
    >>> channel = Channel.fit(LineString([(0, 0), (100, 0)]), box(0, -10, 100, 10))
    >>> chainage_m, offset_m = channel.to_channel([30.0, 40.0], [4.0, -3.0])
    >>> chainage_m.round(6).tolist(), offset_m.round(6).tolist()
    ([30.0, 40.0], [4.0, -3.0])
    >>> channel.width_m([50.0]).round(6).tolist()
    [20.0]
    """

    def __init__(self, axis: Axis, water: Polygon) -> None:
        self.axis = axis
        self.water = water
        self.length_m = axis.length_m

    @classmethod
    def fit(cls, centreline: LineString, water: Polygon) -> Channel:
        """Fit the coordinates to a drawn centreline and its water.

        Parameters
        ----------
        centreline : LineString
            Drawn downstream, metres.
        water : Polygon
            The wetted area, metres.

        Raises
        ------
        LayerError
            If the line has no length or the water no area.
        """
        if not water.area > 0:
            message = (
                f"the water's area is {water.area} m2; give a polygon of the wetted "
                "area"
            )
            raise LayerError(message)
        width_m = water.area / max(centreline.length, np.sqrt(water.area))
        axis = Axis.through(centreline, smoothing_m=SMOOTHING_WIDTHS * width_m)
        return cls(axis, water)

    @cached_property
    def centreline(self) -> LineString:
        """The smoothed and resampled axis."""
        return shapely.LineString(self.axis.vertices)

    def to_channel(
        self, easting: ArrayLike, northing: ArrayLike
    ) -> tuple[Array, Array]:
        """Return chainage and offset, metres, of world points."""
        east, north = np.broadcast_arrays(easting, northing)
        frame = self._harmonic or self.axis
        chainage_m, offset_m = frame.project(east, north)
        return chainage_m.reshape(east.shape), offset_m.reshape(east.shape)

    def to_world(
        self, chainage_m: ArrayLike, offset_m: ArrayLike
    ) -> tuple[Array, Array]:
        """Return easting and northing of channel points.

        Undoes :meth:`to_channel` wherever ``offset * curvature < 1``; beyond the
        centre of a bend several channel points share one place. Harmonic
        coordinates are undone in the water, to about a hundredth of its width.
        """
        chainage, offset = np.broadcast_arrays(chainage_m, offset_m)
        place = self._placed(np.ravel(chainage).astype(float), np.ravel(offset))
        return place[:, 0].reshape(chainage.shape), place[:, 1].reshape(chainage.shape)

    def _placed(self, chainage_m: Array, offset_m: Array) -> Array:
        """Return world places, shape (n, 2), of channel points, both (n,)."""
        if self._harmonic:
            return self._harmonic.world(chainage_m, offset_m)
        return self.axis.beside(chainage_m, offset_m)

    @cached_property
    def tightness(self) -> float:
        """Largest half width, or offset of a bank, times curvature.

        At 1 the lines at right angles to the axis meet at the bank; from
        ``TIGHTEST`` on the coordinates are harmonic.
        """
        edge = shapely.segmentize(self.water.exterior, 2.0)
        chainage_m, offset_m = self.axis.project(*shapely.get_coordinates(edge).T)
        at_bank = np.max(offset_m * self.axis.curvature(chainage_m))
        stations_m, half_width_m = self._half_widths
        in_general = np.max(half_width_m * np.abs(self.axis.curvature(stations_m)))
        return float(max(at_bank, in_general))

    @cached_property
    def _harmonic(self) -> HarmonicFrame | None:
        """Coordinates that do not fold, if this channel needs them."""
        if self.tightness < TIGHTEST:
            return None
        outline = shapely.Polygon(self.water.exterior)
        return HarmonicFrame(self.axis, outline, *self._half_widths)

    def heading(self, chainage_m: ArrayLike) -> tuple[Array, Array]:
        """Return the east and north part of the unit vector downstream."""
        chainage = np.asarray(chainage_m, float)
        along = self.axis.tangents(chainage.ravel())
        return along[:, 0].reshape(chainage.shape), along[:, 1].reshape(chainage.shape)

    def curvature(self, chainage_m: ArrayLike) -> Array:
        """Return the axis' curvature, 1/m; positive: its centre lies to the LEFT."""
        chainage = np.asarray(chainage_m, float)
        return self.axis.curvature(chainage.ravel()).reshape(chainage.shape)

    def width_m(self, chainage_m: ArrayLike) -> Array:
        """Return the wetted width across, metres, islands excluded.

        Measured on lines at right angles to the axis; beyond its two ends the
        width of the nearest end is returned.
        """
        stations_m, found_m = self._widths
        chainage = np.asarray(chainage_m, float)
        widths: Array = np.interp(chainage.ravel(), stations_m, found_m)
        return widths.reshape(chainage.shape)

    @cached_property
    def _spans(self) -> tuple[Array, NDArray[np.object_]]:
        """Stations along the axis and a line from bank to bank at each."""
        # a quarter width in: nearer an end the cross-line runs out through it
        inset_m = min(self.water.area / self.length_m / 4, self.length_m / 4)
        count = max(3, len(self.axis.vertices) // 2)
        stations_m = np.linspace(inset_m, self.length_m - inset_m, count)
        return stations_m, cross_lines(self.axis, self.water, stations_m)

    @cached_property
    def _widths(self) -> tuple[Array, Array]:
        """Stations along the axis and the water's width at each, metres."""
        stations_m, spans = self._spans
        return stations_m, shapely.length(shapely.intersection(spans, self.water))

    @cached_property
    def _half_widths(self) -> tuple[Array, Array]:
        """Stations along the axis and half the way from bank to bank, metres."""
        stations_m, spans = self._spans
        return stations_m, shapely.length(spans) / 2

    def wet_cells(self, grid: Grid) -> WetCells:
        """Return the grid's cells whose centre lies in the water."""
        rows, columns = grid.cells_in(self.water)
        easting, northing = grid.centres()
        east, north = easting[columns], northing[rows]
        chainage_m, offset_m = self.to_channel(east, north)
        return WetCells(
            rows=rows,
            columns=columns,
            easting=east,
            northing=north,
            chainage_m=chainage_m,
            offset_m=offset_m,
        )
