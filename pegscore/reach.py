"""The swim: the water that can be fished from a peg, by method.

A swim is laid out in the channel's coordinates, so that it follows the bank round
a bend: along the river from ``up_m`` above the peg to ``down_m`` below it, and out
from the water's edge from ``out_from_m`` to ``out_to_m``. It ends at an island or
short of the far bank, leaves out what an island hides from the angler and where
fishing is not allowed, and is one piece: the one nearest to the peg.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import geopandas as gpd
import numpy as np
import shapely

from pegscore.methods import METHODS, Method, find_method
from pegscore.nearby import meet
from pegscore.sight import in_sight
from pegscore.transects import cross_water

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel

    Floats = NDArray[np.float64]
    Shapes = NDArray[np.object_]

__all__ = ["METHODS", "Banks", "Method", "find_method", "follow_banks", "swims"]

STATION_M = 1.0
"""The bank is followed in steps no longer than this."""

FAR_BANK_M = 1.0
"""A swim ends this far short of the far bank, or of an island; common practice, no
source."""

EDGE_SLACK_M = 1.0
"""How far the followed edge may leave the peg's own line, besides a turn of 45
degrees for a bank and none for an island: beyond that it is another bank, such as
the far one below an island."""

END_M = 1.0
"""The river is not measured across closer than this to where the map was cut."""

NO_FISHING_M = 5.0
"""A no-fishing place drawn as a line or a point is widened by this, and holds the
seats nearer than this; [P]."""

LEAST_PIECE_M2 = 0.01
"""A smaller piece is a sliver of the clipping."""


AREA = 2
"""The dimension of a polygon."""


class Banks(NamedTuple):
    """The water's edges past each peg, arrays of (peg, station).

    ``near_m`` and ``other_m`` are offsets of the own and the far edge; ``outwards``,
    shape (peg,), is 1.0 where the offset grows from the own edge out into the river,
    else -1.0.
    """

    chainage_m: Floats
    near_m: Floats
    other_m: Floats
    outwards: Floats


class _Stations(NamedTuple):
    """Points along the bank, arrays of (peg, station)."""

    chainage_m: Floats
    near_m: Floats
    far_m: Floats


def swims(
    pegs: gpd.GeoDataFrame,
    channel: Channel,
    *,
    method: str | Method = "float",
    places: gpd.GeoDataFrame | None = None,
) -> gpd.GeoSeries:
    """Return the water that can be fished from each peg.

    Parameters
    ----------
    pegs : GeoDataFrame
        From ``pegscore.pegs.place_pegs``.
    channel : Channel
        The river's own coordinates, with the water.
    method : str or Method, default="float"
        One of ``METHODS``, or a method of one's own.
    places : GeoDataFrame, optional
        The survey's places. Every ``no_fishing`` is cut out, so leave out those not
        in force on the day; lines and points are widened by ``NO_FISHING_M``. A peg
        that stands in one has no swim.

    Returns
    -------
    GeoSeries of Polygon, index as ``pegs``
        An empty polygon where nothing can be fished.

    Raises
    ------
    MethodUnknown
        If no method has that name.

    Examples
    --------
    >>> import pandas as pd
    >>> from pyproj import CRS
    >>> from shapely import LineString, box
    >>> from layers.channel import Channel
    >>> from pegscore.pegs import place_pegs
    >>> channel = Channel.fit(LineString([(0, 0), (100, 0)]), box(0, -10, 100, 10))
    >>> table = pd.DataFrame({"peg": ["7"], "easting": [30.0], "northing": [12.0]})
    >>> pegs = place_pegs(table, channel, CRS("EPSG:27700"))
    >>> swim = swims(pegs, channel, method="float")["7"]
    >>> [round(edge, 6) + 0.0 for edge in swim.bounds]
    [28.0, 2.0, 45.0, 9.0]
    """
    method = find_method(method)
    seats, eyes = (
        np.asarray(shapely.points(pegs[f"{at}easting"], pegs[f"{at}northing"]), object)
        for at in ("", "edge_")
    )
    shapes = meet(_laid_out(pegs, channel, method), channel.water)
    shapes = in_sight(shapes, eyes, channel.water, margin_m=FAR_BANK_M)
    shapes = _allowed(shapes, seats, places)
    pieces = _nearest_pieces(shapes, eyes)
    return gpd.GeoSeries(pieces, index=pegs.index, crs=pegs.crs, name="swim")


def _laid_out(pegs: gpd.GeoDataFrame, channel: Channel, method: Method) -> Shapes:
    """Return the swims before anything is cut out of them."""
    stations = _stations(pegs, channel, method)
    near, far = (
        np.stack(channel.to_world(stations.chainage_m, offset_m), axis=-1)
        for offset_m in (stations.near_m, stations.far_m)
    )
    corners = np.stack([near[:, :-1], near[:, 1:], far[:, 1:], far[:, :-1]], axis=2)
    rims = np.concatenate([near, far[:, ::-1]], axis=1)
    shapes = np.asarray(shapely.polygons(rims), object)
    folded = ~(_all_convex(corners) & shapely.is_valid(shapes))
    shapes[folded] = _unfolded(corners[folded])
    return shapes


def _all_convex(corners: Floats) -> NDArray[np.bool_]:
    """Say of each peg whether every step is convex and all run round the same way.

    If then the rim of all steps does not cross itself, its winding number, the sum of
    the steps', is 0 or 1: the steps meet without overlap, and their union is the rim's.
    """
    side = np.roll(corners, -1, axis=2) - corners
    after = np.roll(side, -1, axis=2)
    turn = side[..., 0] * after[..., 1] - side[..., 1] * after[..., 0]
    return np.asarray((turn > 0).all(axis=(1, 2)) | (turn < 0).all(axis=(1, 2)))


def _unfolded(corners: Floats) -> Shapes:
    """Join steps some of which fold over, as on the inside of a bend, by hulls."""
    steps = np.asarray(shapely.convex_hull(shapely.multipoints(corners)), object)
    steps[shapely.get_dimensions(steps) < AREA] = None
    return np.asarray(shapely.union_all(steps, axis=1), object)


def _stations(pegs: gpd.GeoDataFrame, channel: Channel, method: Method) -> _Stations:
    """Follow the bank past each peg; say where its swim begins and ends across."""
    count = math.ceil((method.up_m + method.down_m) / STATION_M) + 1
    along_m = np.linspace(-method.up_m, method.down_m, count)
    banks = follow_banks(pegs, channel, along_m)
    facing = banks.outwards[:, None]
    room_m = (banks.other_m - banks.near_m) * facing - FAR_BANK_M
    return _Stations(
        chainage_m=banks.chainage_m,
        near_m=banks.near_m + facing * method.out_from_m,
        far_m=banks.near_m
        + facing * np.clip(room_m, method.out_from_m, method.out_to_m),
    )


def follow_banks(pegs: gpd.GeoDataFrame, channel: Channel, along_m: Floats) -> Banks:
    """Follow the water's edge before each peg, and what ends the water opposite.

    Parameters
    ----------
    pegs : GeoDataFrame
        From ``pegscore.pegs.place_pegs``.
    channel : Channel
        The river's own coordinates, with the water.
    along_m : array of float, shape (stations,)
        Metres down the channel's axis from each peg's edge, with 0 among them or
        between them.

    Returns
    -------
    Banks
        Islands do not end the water, except for a peg that stands on one.
    """
    start_m, edge_m = channel.to_channel(pegs["edge_easting"], pegs["edge_northing"])
    on_island = pegs["island"].to_numpy(bool)
    from_bank = np.where(pegs["bank"] == "left", -1.0, 1.0)
    from_island = np.where(edge_m >= pegs["offset_m"], 1.0, -1.0)
    outwards = np.where(on_island, from_island, from_bank)
    chainage_m = start_m[:, None] + along_m
    own_m, other_m = cross_water(
        np.clip(chainage_m, END_M, channel.length_m - END_M),
        edge_m,
        outwards,
        channel=channel,
        waters=_waters(on_island, channel),
    )
    turn_m = np.abs(along_m) * ~on_island[:, None]
    slack_m = turn_m + EDGE_SLACK_M
    line_m = edge_m[:, None] + np.clip(own_m - edge_m[:, None], -slack_m, slack_m)
    return Banks(
        chainage_m=chainage_m, near_m=line_m, other_m=other_m, outwards=outwards
    )


def _waters(on_island: NDArray[np.bool_], channel: Channel) -> Shapes:
    """Return the water from bank to bank, with its islands for the pegs on them.

    What other islands hide is cut off later, with a sharper edge than a step's.
    """
    whole = shapely.Polygon(channel.water.exterior)
    kinds = np.array([whole, channel.water], object)
    return np.asarray(kinds[on_island.astype(int)], object)


def _allowed(shapes: Shapes, seats: Shapes, places: gpd.GeoDataFrame | None) -> Shapes:
    """Cut out where fishing is not allowed."""
    if places is None:
        return shapes
    closed = places.loc[places["kind"] == "no_fishing"].geometry
    widened = closed.where(
        shapely.get_dimensions(closed.to_numpy()) == AREA, closed.buffer(NO_FISHING_M)
    )
    barred = widened.union_all()
    left = np.asarray(shapely.difference(shapes, barred), object)
    left[shapely.covers(barred, seats)] = shapely.Polygon()
    return left


def _nearest_pieces(shapes: Shapes, eyes: Shapes) -> Shapes:
    """Return of each shape the polygon nearest to its eye, an empty one if none."""
    parts, owner = shapely.get_parts(shapes, return_index=True)
    size = shapely.area(parts)
    order = np.lexsort((-size, shapely.distance(parts, eyes[owner]), owner))
    order = order[size[order] > LEAST_PIECE_M2]
    found, first = np.unique(owner[order], return_index=True)
    pieces = np.full(len(shapes), shapely.Polygon(), object)
    pieces[found] = parts[order][first]
    return pieces
