"""Where on the bank to land a fish: a margin free of what the survey warns of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from pegscore.cautions import NEAR_M
from pegscore.layer_points import layer_at
from pegscore.reach import NO_FISHING_M

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from layers.stack import Stack
    from pegscore.run_line import SwimFrame

    Floats = NDArray[np.float64]

REACH_M = (-3.0, 8.0)
"""How far up and down from the peg a fish is led to the net; our proposal."""

OUT_M = 1.5
"""The depth that counts is this far from the edge, at the net; our proposal."""

GENTLE_M = 1.0
"""A margin deeper than this is no place to kneel at; our proposal."""

KEPT_OFF_M = {
    **NEAR_M,
    "no_fishing": NO_FISHING_M,
    "snag": 2.0,
    "tree": 2.0,
    "weed": 1.0,
}
"""How far to keep from each, metres; those of ``pegscore.cautions`` where it has one,
else our proposal. Overhead lines bar or warn of the whole peg."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NettingSpot:
    """Metres down the run line from the peg, and the depth at the net, metres."""

    down_m: float
    depth_m: float


def netting_spot(
    frame: SwimFrame,
    *,
    stack: Stack,
    places: gpd.GeoDataFrame | None,
    level_m: float,
) -> NettingSpot | None:
    """Return the margin nearest to the peg where a fish can be netted, or None.

    It is the nearest with a known depth of no more than ``GENTLE_M`` that keeps off
    all that ``KEPT_OFF_M`` names. What is missing from the places is not seen.
    """
    near = (frame.along_m >= REACH_M[0]) & (frame.along_m <= REACH_M[1])
    down_m = frame.along_m[near]
    edge, net = (
        frame.channel.to_world(
            frame.chainage_m[near], frame.edge_m[near] + frame.outwards * out_m
        )
        for out_m in (0.0, OUT_M)
    )
    depth_m = layer_at(stack, "depth", *net, level_m=level_m)
    good = (depth_m <= GENTLE_M) & ~_warned(np.column_stack(edge), places)
    if not good.any():
        return None
    best = int(np.argmin(np.where(good, np.abs(down_m), np.inf)))
    return NettingSpot(down_m=float(down_m[best]), depth_m=float(depth_m[best]))


def _warned(spots: Floats, places: gpd.GeoDataFrame | None) -> NDArray[np.bool_]:
    """Say which spots lie too near to something."""
    points = shapely.points(spots)
    warned = np.zeros(len(spots), bool)
    if places is None:
        return warned
    for kind, shape in zip(places["kind"], places.geometry, strict=True):
        if kind in KEPT_OFF_M:
            warned |= shapely.distance(points, shape) < KEPT_OFF_M[kind]
    return warned
