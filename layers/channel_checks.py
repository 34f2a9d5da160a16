"""Whether centreline, water and the survey's CRS fit each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import LineString, Polygon

from layers.placement import scale_at

if TYPE_CHECKING:
    from pyproj import CRS

    from layers.problems import ProblemList

LEAVES_M = 1.0
"""A centreline this far outside the water has left it."""

LEAVES_WARN, LEAVES_REFUSE = 0.05, 0.3
"""Shares of the centreline outside the water that are warned of and refused."""

SHORTEST_M = 20.0
"""A centreline below this is no stretch of river."""

BROADEST_M = 20_000.0
"""No river that is fished from pegs is wider: our own choice."""

NECK_M = 0.25
"""Water narrower than twice this does not hold a river together: our own choice."""

BEYOND_WARN, EDGE_POINTS = 0.05, 400
"""The share of the water's edge beyond the centreline's ends that is told of, and
into how many pieces the edge is cut to see it."""

DISTORTS = 0.01
"""A projection whose scale is off by more than this is refused."""

CUT_OFF = 0.01
"""Pieces below this share of the water may be cut off by a neck."""


def check_scale(water: Polygon, crs: CRS, problems: ProblemList) -> None:
    """Refuse a CRS in which a metre at the river is drawn longer or shorter."""
    centre = water.centroid
    scale = scale_at(centre.x, centre.y, crs)
    if abs(scale - 1) > DISTORTS:
        problems.refuse(
            "crs-distorts",
            "river.toml",
            f"in this CRS a metre at the river is drawn as {scale:.3f} m, so that "
            "widths and distances would be wrong",
            "use the CRS of your country's grid or the UTM zone of the river",
            column="river.crs",
            value=crs.to_string(),
        )


def _check_breadth(
    centreline: LineString, water: Polygon, file: str, problems: ProblemList
) -> None:
    """Refuse a sea; warn of necks and of water beyond the centreline's ends."""
    breadth_m = water.area / centreline.length
    if breadth_m > BROADEST_M:
        problems.refuse(
            "water-wide",
            file,
            f"the water is {breadth_m / 1000:,.0f} km wide",
            "draw the wetted area of the stretch alone, and check the CRS",
        )
    if not _holds_together(water):
        problems.warn(
            "water-pinched",
            file,
            f"the water is pinched to less than {2 * NECK_M:g} m at a place, as by an "
            "island that blocks the river",
            "look at the islands; leave water between them and the banks",
        )
    beyond = _beyond_ends(centreline, water, 1.5 * breadth_m)
    if beyond > BEYOND_WARN:
        problems.warn(
            "water-beyond",
            file,
            f"{beyond:.0%} of the water's edge lies beyond the ends of the centreline: "
            "nothing there is known",
            "draw the centreline from end to end of the water, or cut the water",
        )


def _holds_together(water: Polygon) -> bool:
    parts = shapely.get_parts(shapely.buffer(water, -NECK_M))
    areas = shapely.area(parts)
    return len(areas) == 0 or bool(areas.max() >= (1 - CUT_OFF) * areas.sum())


def _beyond_ends(centreline: LineString, water: Polygon, far_m: float) -> float:
    """Return the share of the water's edge that lies beyond the line's two ends."""
    step_m = max(water.exterior.length / EDGE_POINTS, 1e-6)
    edge = shapely.points(
        shapely.get_coordinates(shapely.segmentize(water.exterior, step_m))
    )
    at_m = shapely.line_locate_point(centreline, edge)
    at_end = (at_m <= 0) | (at_m >= centreline.length)
    return float((at_end & (shapely.distance(centreline, edge) > far_m)).mean())


def check_together(
    centreline: LineString, water: Polygon, file: str, problems: ProblemList
) -> None:
    """Refuse or warn of a centreline and a water that are not of one river."""
    if centreline.length < SHORTEST_M:
        problems.refuse(
            "centreline-short",
            file,
            f"the centreline is {centreline.length:.3g} m long",
            "draw it along the whole stretch, and check the CRS",
        )
        return
    _check_breadth(centreline, water, file, problems)
    with_islands = Polygon(water.exterior).buffer(LEAVES_M)
    outside = centreline.difference(with_islands).length / centreline.length
    if outside <= LEAVES_WARN:
        return
    note = problems.refuse if outside > LEAVES_REFUSE else problems.warn
    note(
        "centreline-leaves-water",
        file,
        f"{outside:.0%} of the centreline lies outside the water",
        "draw it within the water from the upper to the lower end",
    )
