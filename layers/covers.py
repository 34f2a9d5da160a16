"""Shade and cover on the water, from what the club has drawn.

Nothing is guessed: where no tree, snag or weed was drawn there may still be some.
Spawning places are not looked at here at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    import geopandas as gpd
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

CROWN_M = 4.0
"""Half the width of a bankside tree's crown, for trees drawn as points or lines. [P]"""

AROUND_M = 2.0
"""How far a snag or a weed bed drawn as a point or a line gives cover. [P]"""

KINDS = {
    "tree": (("shade", CROWN_M), ("cover", AROUND_M)),
    "snag": (("cover", AROUND_M),),
    "weed": (("cover", AROUND_M),),
}
"""What each kind of place gives, and how far from where it was drawn."""


def covers(
    places: gpd.GeoDataFrame | None, water: Polygon
) -> Iterator[tuple[str, Polygon]]:
    """Yield shade and cover as areas of the mapped water.

    A tree's shade is its crown, straight down: the sun's place is not heeded. What is
    drawn as an area is taken as drawn.
    """
    if places is None:
        return
    for kind, given in KINDS.items():
        for shape in places.geometry[places["kind"] == kind]:
            for name, reach_m in given:
                for part in _parts(_area(shape, reach_m), water):
                    yield name, part


def _area(shape: BaseGeometry, reach_m: float) -> BaseGeometry:
    flat = shapely.get_dimensions(shape) == 2  # noqa: PLR2004 - an area
    return shape if flat else shape.buffer(reach_m)


def _parts(area: BaseGeometry, water: Polygon) -> Iterator[Polygon]:
    within = shapely.intersection(area, water)
    for part in shapely.get_parts(within):
        if isinstance(part, shapely.Polygon) and part.area > 0:
            yield part
