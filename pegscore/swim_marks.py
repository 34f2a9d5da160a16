"""What lies in a swim, by metres out and metres down: creases, shelves, snags."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from pegscore.cautions import IN_SWIM
from pegscore.wording import one_line, place_days, place_name

if TYPE_CHECKING:
    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

    from pegscore.run_line import SwimFrame

LEAST_LINE_M, LEAST_AREA_M2 = 3.0, 2.0
"""What is shorter or smaller in the swim is not worth a word; our proposal."""

LINES = {"crease": "crease", "shelf": "shelf", "gravel_edge": "edge of gravel"}
AREAS = {"slack": "slack", "lee": "lee", "shade": "shade", "cover": "cover"}
"""The structure told of, by its kind, and what it is called to people."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One thing in the swim.

    Parameters
    ----------
    kind, title : str
        The kind in the layers or places, and the word for people, with its name and
        days where it has them.
    out_from_m, out_to_m : float
        Metres out from the water's edge on the peg's side.
    down_from_m, down_to_m : float
        Metres down the run line; negative upstream.
    parts : tuple of tuple of (float, float)
        World points, one tuple a line or outline, for drawing.
    """

    kind: str
    title: str
    out_from_m: float
    out_to_m: float
    down_from_m: float
    down_to_m: float
    parts: tuple[tuple[tuple[float, float], ...], ...]


def structure_marks(
    table: gpd.GeoDataFrame, swim: BaseGeometry, frame: SwimFrame
) -> tuple[Mark, ...]:
    """Return the creases, shelves, slacks and the like that lie in a swim.

    Parameters
    ----------
    table : GeoDataFrame
        ``kind`` and geometry: the lines or the areas of the structure layer.
    swim : Polygon
        The water in reach.
    frame : SwimFrame
        Measures metres out and down.
    """
    titles = {**LINES, **AREAS}
    if table.empty:
        return ()
    cut = shapely.intersection(np.asarray(table.geometry, object), swim)
    marks = [
        _mark(str(kind), titles[str(kind)], part, frame)
        for kind, shape in zip(table["kind"], cut, strict=True)
        if str(kind) in titles
        for part in _pieces(shape)
        if part.length >= LEAST_LINE_M and (part.area == 0 or part.area > LEAST_AREA_M2)
    ]
    return tuple(sorted(marks, key=lambda mark: (mark.kind, mark.down_from_m)))


def place_marks(
    places: gpd.GeoDataFrame | None, swim: BaseGeometry, frame: SwimFrame
) -> tuple[Mark, ...]:
    """Return the snags, weed and trees of the survey's places that lie in a swim."""
    if places is None:
        return ()
    marks = []
    inside = shapely.intersection(np.asarray(places.geometry, object), swim)
    for place, part in zip(places.itertuples(), inside, strict=True):
        kind = one_line(place.kind)
        if kind in IN_SWIM and not part.is_empty:
            title = ", ".join(
                filter(None, [kind + place_name(place), place_days(place)])
            )
            marks.append(_mark(kind, title, part, frame))
    return tuple(sorted(marks, key=lambda mark: mark.down_from_m))


def _mark(kind: str, title: str, shape: BaseGeometry, frame: SwimFrame) -> Mark:
    points = shapely.get_coordinates(shapely.segmentize(shape, 1.0))
    out_m, down_m = frame.measure(points[:, 0], points[:, 1])
    return Mark(
        kind=kind,
        title=title,
        out_from_m=max(float(np.nanmin(out_m)), 0.0),
        out_to_m=max(float(np.nanmax(out_m)), 0.0),
        down_from_m=float(np.nanmin(down_m)),
        down_to_m=float(np.nanmax(down_m)),
        parts=tuple(
            tuple((float(x), float(y)) for x, y in shapely.get_coordinates(part))
            for part in shapely.get_parts(shape)
        ),
    )


def _pieces(shape: BaseGeometry) -> list[BaseGeometry]:
    """Return a shape's parts, lines that meet made one."""
    if shape.is_empty:
        return []
    if shape.geom_type == "MultiLineString":
        shape = shapely.line_merge(shape)
    return list(shapely.get_parts(shape))
