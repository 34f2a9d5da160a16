"""The pegs on their bank: side, chainage, the water's edge in front of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pyproj import CRS

    from layers.channel import Channel

    Floats = NDArray[np.float64]
    Shapes = NDArray[np.object_]

BANK_STEP_M = 2.0
"""The banks are told apart on points no further apart than this."""

END_M = 1.0
"""What lies this close to an end of the channel may be where the map was cut."""

AS_WRITTEN = {"open": True, "step_free": None, "walk_m": np.nan, "note": ""}
"""What the club's file says of a peg, and what an absent column means."""


def place_pegs(pegs: pd.DataFrame, channel: Channel, crs: CRS) -> gpd.GeoDataFrame:
    """Return the pegs with their place on the river.

    Parameters
    ----------
    pegs : DataFrame
        ``peg`` (text), ``easting``, ``northing`` (where the angler sits, metres)
        and, where the club gave them, ``open``, ``step_free``, ``walk_m``, ``note``.
    channel : Channel
        The river's own coordinates.
    crs : pyproj.CRS
        The survey's reference system.

    Returns
    -------
    GeoDataFrame, index ``peg``, in the order of the file
        ``bank`` (``left`` or ``right`` facing downstream, by the geometry: the side
        of the river's axis), ``chainage_m``, ``offset_m``, ``easting``,
        ``northing``; ``edge_easting``, ``edge_northing``: the nearest point of the
        water's outer edge on the same side of the axis; ``island``: the peg stands
        on an island, and its edge is the island's; ``downstream_east``,
        ``downstream_north``: unit vector; ``open``, ``step_free``, ``walk_m``,
        ``note``; ``geometry``: where the angler sits.

    Examples
    --------
    >>> from pyproj import CRS
    >>> from shapely import LineString, box
    >>> from layers.channel import Channel
    >>> channel = Channel.fit(LineString([(0, 0), (100, 0)]), box(0, -10, 100, 10))
    >>> table = pd.DataFrame({"peg": ["7"], "easting": [30.0], "northing": [12.0]})
    >>> pegs = place_pegs(table, channel, CRS("EPSG:27700"))
    >>> print(pegs[["bank", "chainage_m", "edge_northing"]])
         bank  chainage_m  edge_northing
    peg
    7    left        30.0           10.0
    """
    easting, northing = (pegs[name].to_numpy(float) for name in ("easting", "northing"))
    chainage_m, offset_m = channel.to_channel(easting, northing)
    seats = np.asarray(shapely.points(easting, northing), object)
    edges, on_island = _edges(seats, offset_m, channel)
    east, north = channel.heading(chainage_m)
    columns = {
        "bank": np.where(offset_m >= 0, "left", "right"),
        "chainage_m": chainage_m,
        "offset_m": offset_m,
        "easting": easting,
        "northing": northing,
        "edge_easting": edges[:, 0],
        "edge_northing": edges[:, 1],
        "island": on_island,
        "downstream_east": east,
        "downstream_north": north,
        **{name: _column(pegs, name) for name in AS_WRITTEN},
    }
    index = pd.Index(pegs["peg"].astype(str), name="peg")
    return gpd.GeoDataFrame(columns, index=index, geometry=seats, crs=crs)


def _column(pegs: pd.DataFrame, name: str) -> NDArray[np.object_]:
    """Return a column as the file has it, or what its absence means."""
    given = pegs.get(name, pd.Series([AS_WRITTEN[name]] * len(pegs)))
    return given.to_numpy()


def _edges(
    seats: Shapes, offset_m: Floats, channel: Channel
) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the water's edge before each seat, (n, 2), and which are on islands."""
    lines = bank_lines(channel)[(offset_m < 0).astype(int)]
    on_island = np.zeros(len(seats), bool)
    for ring in channel.water.interiors:
        here = shapely.covers(shapely.Polygon(ring), seats)
        lines[here] = ring
        on_island |= here
    points = shapely.get_coordinates(shapely.shortest_line(lines, seats))
    return points[::2], on_island


def bank_lines(channel: Channel) -> Shapes:
    """Return the outer edge of the water, left and right of the axis, in that order."""
    rim = shapely.segmentize(channel.water.exterior, BANK_STEP_M)
    points = shapely.get_coordinates(rim)
    chainage_m, offset_m = channel.to_channel(points[:, 0], points[:, 1])
    from_end_m = np.minimum(chainage_m, channel.length_m - chainage_m)
    along = np.maximum(from_end_m[:-1], from_end_m[1:]) > END_M
    steps = np.stack([points[:-1], points[1:]], axis=1)
    sides = []
    for side in (1, -1):
        own = np.minimum(side * offset_m[:-1], side * offset_m[1:]) > 0
        kept = steps[own & along] if (own & along).any() else steps
        sides.append(shapely.MultiLineString(list(kept)))
    return np.array(sides, object)
