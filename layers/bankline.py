"""The water's edge as points of the bed, where the soundings bear it out.

At the water's edge the bed meets the water only if the bank slopes: a steep
bank has a metre of depth at its foot. So an edge point counts only where the
soundings beside it, at the same bank, are shallow; and blocked cross-validation
must then agree that the edge does no harm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree

from layers.samples import Samples, in_frame

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from layers.channel import Channel

    Array = NDArray[np.float64]

SPACING_M = 20.0
"""Gap between edge points, [P] our own proposal, no source: edge points closer than
the lines of soundings crowd these out of the neighbourhoods."""

BESIDE_M = 3.0
"""A sounding this close to the edge tells of the bank: our own choice."""

STEEPEST = 0.5
"""A bank falling faster than this (1 in 2) is taken as steep: our own choice."""

EDGE_SD_M = 0.3
"""How far the bed at a sloping edge may be from the water: our own choice."""

STRETCH = 5.0
"""Distance along the river is divided by this when looking for soundings."""

FURTHEST_M = 15.0
"""A sounding further than this, so counted, tells nothing of a bank."""


def bank_samples(
    channel: Channel, elevation_m: Callable[[Array], Array], soundings: Samples
) -> Samples:
    """Return points on the water's edge where the bank is known to slope.

    Parameters
    ----------
    channel : Channel
        Its water's outline and islands are the edge.
    elevation_m : callable
        The water's elevation by chainage at the level the outline was drawn at.
    soundings : Samples
        The bed known so far.

    Returns
    -------
    Samples
        Edge points about ``SPACING_M`` apart, whose two nearest soundings within
        ``BESIDE_M`` of the edge both fall less than ``STEEPEST``; maybe none.
    """
    edge = _edge(channel, elevation_m)
    outline = shapely.boundary(channel.water)
    shapely.prepare(outline)
    taken = shapely.points(soundings.easting, soundings.northing)
    away_m = np.asarray(shapely.distance(taken, outline))
    beside = away_m <= BESIDE_M
    fewest = 2
    if beside.sum() < fewest or not len(edge):
        return edge.at(np.zeros(len(edge), bool))
    near = soundings.at(beside)
    depth_m = elevation_m(near.chainage_m) - near.bed_m
    slopes = depth_m <= STEEPEST * (away_m[beside] + 0.5)  # 0.5: position error, m
    found = cKDTree(in_frame(near, STRETCH)).query(in_frame(edge, STRETCH), k=fewest)
    distance_m, which = np.asarray(found[0]), np.asarray(found[1])
    sloping = slopes[which].all(axis=1)
    borne_out = sloping & (distance_m.max(axis=1) < FURTHEST_M)
    return edge.at(borne_out)


def _edge(channel: Channel, elevation_m: Callable[[Array], Array]) -> Samples:
    """Return evenly spaced points of the banks and islands, not of the two ends."""
    rings = [channel.water.exterior, *channel.water.interiors]
    places = np.vstack([_spaced(ring) for ring in rings])
    chainage_m, offset_m = channel.to_channel(places[:, 0], places[:, 1])
    edge = Samples(
        easting=places[:, 0],
        northing=places[:, 1],
        chainage_m=chainage_m,
        offset_m=offset_m,
        bed_m=np.asarray(elevation_m(chainage_m), float),
        sd_m=np.full(len(places), EDGE_SD_M),
    )
    margin_m = channel.water.area / channel.length_m / 4
    inside = (chainage_m > margin_m) & (chainage_m < channel.length_m - margin_m)
    return edge.at(inside)


def _spaced(ring: shapely.LinearRing) -> Array:
    """Return points along a ring about ``SPACING_M`` apart."""
    count = max(4, round(ring.length / SPACING_M))
    along = np.arange(count) * ring.length / count
    return shapely.get_coordinates(shapely.line_interpolate_point(ring, along))
