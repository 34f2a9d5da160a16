"""Geometries as the page reads them: WGS 84, latitude first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from layers.river import WGS84
from pegscore.pages.text import pair

if TYPE_CHECKING:
    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

SIMPLIFIED_M = 0.1
"""Outlines lose corners finer than this."""


def shapes_of(shapes: gpd.GeoSeries) -> list[dict[str, Any] | None]:
    """Return outlines in WGS 84 as kind and (latitude, longitude) lists."""
    fine = shapes.simplify(SIMPLIFIED_M).to_crs(WGS84)
    blank = fine.isna() | fine.is_empty
    return [None if no else _shape(s) for s, no in zip(fine, blank, strict=True)]


def _shape(shape: BaseGeometry) -> dict[str, Any]:
    parts = list(getattr(shape, "geoms", [shape]))
    kind = {"Point": "point", "LineString": "line"}.get(parts[0].geom_type, "area")
    return {"kind": kind, "parts": [_part(part) for part in parts]}


def _part(part: BaseGeometry) -> list[Any]:
    if part.geom_type == "Polygon":
        rings = [part.exterior, *part.interiors]  # type: ignore[attr-defined]
        return [[pair(*xy[:2]) for xy in ring.coords] for ring in rings]
    points = [pair(*xy[:2]) for xy in part.coords]
    return points[0] if part.geom_type == "Point" else points
