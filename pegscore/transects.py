"""Lines across the river: where the water before a peg begins and where it ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from pegscore.nearby import meet

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Shapes = NDArray[np.object_]


def cross_water(
    chainage_m: Floats,
    edge_m: Floats,
    outwards: Floats,
    *,
    channel: Channel,
    waters: Shapes,
) -> tuple[Floats, Floats]:
    """Return the offsets of the own bank and of what ends the water opposite.

    A line across the river may meet the water more than once: beyond an island, or
    at another limb of a loop. The stretch whose own bank is nearest to the peg's
    edge counts. Where a line meets no water, beyond an end of the channel, the last
    one that does goes on.

    Parameters
    ----------
    chainage_m : array of (peg, station)
        Where the lines cross the axis.
    edge_m : array of (peg,)
        The offset of the water's edge before each peg.
    outwards : array of (peg,)
        1.0 if the offset grows from that edge out into the river, else -1.0.
    channel : Channel
        The river's own coordinates.
    waters : array of (peg,)
        The polygon of water that counts for each peg, with or without islands.

    Returns
    -------
    own_m, other_m : arrays of (peg, station)
        Offsets, metres; ``NaN`` for a peg none of whose lines meets the water.

    Examples
    --------
    >>> from shapely import LineString, box
    >>> from layers.channel import Channel
    >>> water = box(0, -10, 100, 10) - box(40, -2, 60, 4)
    >>> channel = Channel.fit(LineString([(0, 0), (100, 0)]), water)
    >>> own_m, other_m = cross_water(np.array([[30.0, 50.0]]), np.array([10.0]),
    ...                              np.array([-1.0]), channel=channel,
    ...                              waters=np.array([water]))
    >>> own_m.round(6).tolist(), other_m.round(6).tolist()
    ([[10.0, 10.0]], [[-10.0, 4.0]])
    """
    water = np.repeat(waters, chainage_m.shape[1])
    station, ends_m = _stretches(chainage_m.ravel(), channel, water)
    peg = station // chainage_m.shape[1]
    facing = outwards[peg]
    own_m = facing * np.min(facing * ends_m, axis=0)
    other_m = facing * np.max(facing * ends_m, axis=0)
    order = np.lexsort((np.abs(own_m - edge_m[peg]), station))
    found, first = np.unique(station[order], return_index=True)
    offsets = np.full((2, chainage_m.size), np.nan)
    offsets[:, found] = np.stack([own_m, other_m])[:, order][:, first]
    own_m, other_m = (
        pd.DataFrame(each.reshape(chainage_m.shape))
        .ffill(axis=1)
        .bfill(axis=1)
        .to_numpy()
        for each in offsets
    )
    return own_m, other_m


def _stretches(
    chainage_m: Floats, channel: Channel, water: Shapes
) -> tuple[Ints, Floats]:
    """Return for each stretch of water its station and its two end offsets."""
    east, north = channel.heading(chainage_m)
    left = np.column_stack([-north, east])
    origin = np.column_stack(channel.to_world(chainage_m, np.zeros_like(chainage_m)))
    rim = shapely.get_coordinates(channel.water.exterior)
    reach_m = np.abs(channel.to_channel(rim[:, 0], rim[:, 1])[1]).max() + 1.0
    lines = np.stack([origin - reach_m * left, origin + reach_m * left], axis=1)
    across = np.asarray(shapely.linestrings(lines), object)
    parts, station = shapely.get_parts(meet(across, water), return_index=True)
    wet = shapely.length(parts) > 0  # neither a point of touch nor an empty line
    parts, station = parts[wet], station[wet]
    ends = [shapely.get_coordinates(shapely.get_point(parts, at)) for at in (0, -1)]
    offsets = [((end - origin[station]) * left[station]).sum(axis=1) for end in ends]
    return station, np.stack(offsets)
