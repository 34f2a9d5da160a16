"""What an island hides from an angler: nobody fishes across an island."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Point, Polygon
    from shapely.geometry.base import BaseGeometry

    Shapes = NDArray[np.object_]

ON_SHORE_M = 0.01
"""An angler this close to an island stands on it: it hides nothing from them."""


def in_sight(
    shapes: Shapes, eyes: Shapes, water: Polygon, *, margin_m: float = 0.0
) -> Shapes:
    """Return the part of each shape that no island hides from its eye.

    Parameters
    ----------
    shapes : array of Polygon or MultiPolygon
        The water in reach.
    eyes : array of Point
        Where each is looked at from: the water's edge before the peg.
    water : Polygon
        The water, islands as its holes.
    margin_m : float, default=0.0
        Islands are taken to be larger by this all round.

    Returns
    -------
    array of geometries
        Each lies within its shape.

    Examples
    --------
    An island a third as wide as the pool, half way to its far side, hides twice
    its own width there:

    >>> from shapely import Point, box
    >>> water = box(-10, 0, 10, 8) - box(-1, 4, 1, 4.5)
    >>> (seen,) = in_sight(np.array([water]), np.array([Point(0, 0)]), water)
    >>> round(water.area - seen.area, 6)  # (2 + 4) / 2 * 4, less the island
    11.0
    """
    islands = np.array([shapely.Polygon(ring) for ring in water.interiors], object)
    views = shapely.buffer(shapely.convex_hull(shapely.union(shapes, eyes)), margin_m)
    seen: Shapes = shapes.copy()
    for peg, number in shapely.STRtree(islands).query(views, "intersects").T:
        eye, island = eyes[peg], islands[number]
        gap_m = float(shapely.distance(eye, island))
        if gap_m > ON_SHORE_M:
            obstacle = island.buffer(min(margin_m, gap_m / 2))
            reach_m = float(shapely.hausdorff_distance(eye, views[peg]))
            seen[peg] = seen[peg].difference(_shadow(eye, obstacle, reach_m))
    return seen


def _shadow(eye: Point, island: Polygon, reach_m: float) -> BaseGeometry:
    """Return the island and all that lies behind it out to ``reach_m`` and more."""
    shore = shapely.get_coordinates(shapely.segmentize(island.exterior, reach_m / 4))
    origin = np.array([eye.x, eye.y])
    away = shore - origin
    distance_m = np.hypot(*away.T)[:, None]
    # three times the reach: a step of the shore is cut off by a chord of the circle
    behind = origin + away * np.maximum(3 * reach_m / distance_m, 1.0)
    corners = np.stack([shore[:-1], shore[1:], behind[1:], behind[:-1]], axis=1)
    wedges = shapely.union_all(shapely.convex_hull(shapely.multipoints(corners)))
    return wedges.union(island)
