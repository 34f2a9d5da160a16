"""``channel.*``: the centreline, drawn downstream, and the water."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Polygon

from layers.channel_checks import check_scale, check_together
from layers.problems import nearest_name
from layers.shapes import into_crs, read_shapes, repaired

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd
    from pyproj import CRS
    from shapely.geometry.base import BaseGeometry

    from layers.problems import ProblemList

PARTS = ("centreline", "water")

OTHER_WORDS = {"centerline": "centreline", "axis": "centreline", "river": "water"}

CRUMB = 0.01
"""Loose pieces of water below this share of the whole are left out."""


class ChannelRead(NamedTuple):
    """The parts of the channel that could be read, in the survey's CRS."""

    centreline: LineString | None
    water: Polygon | None


def read_channel(path: Path, crs: CRS | None, problems: ProblemList) -> ChannelRead:
    """Read ``channel.*``; what cannot be used is noted in ``problems``.

    Without a CRS the shapes are checked but not returned.
    """
    shapes = read_shapes(path, problems)
    if shapes is None:
        return ChannelRead(None, None)
    parts = _parts(shapes, path.name, problems)
    if parts is None:
        return ChannelRead(None, None)
    if crs is not None:
        parts = into_crs(parts, crs, path.name, problems)
    centreline = _centreline(parts, path.name, problems)
    water = _water(parts, path.name, problems)
    if crs is None:
        return ChannelRead(None, None)
    if water is not None:
        check_scale(water, crs, problems)
        if centreline is not None:
            check_together(centreline, water, path.name, problems)
    return ChannelRead(centreline, water)


def _parts(
    shapes: gpd.GeoDataFrame, file: str, problems: ProblemList
) -> gpd.GeoDataFrame | None:
    column = "part" if "part" in shapes else "name" if "name" in shapes else None
    if column is None:
        problems.refuse(
            "missing-column",
            file,
            "the features have no property 'part'",
            "give each feature part = centreline or part = water in the GIS",
            column="part",
        )
        return None
    told = shapes[column].astype(object)  # numbers, where every part is one
    words = told.where(told.notna(), "").astype(str).str.strip().str.lower()
    words = words.replace(OTHER_WORDS)
    for row in words.index[~words.isin(PARTS)]:
        _report_part(words[row], int(row), column, file, problems)
    return shapes.assign(part=words)[words.isin(PARTS)]


def _report_part(
    word: str, row: int, column: str, file: str, problems: ProblemList
) -> None:
    likely = nearest_name(word, PARTS)
    meant = f"did you mean {likely!r}? " if likely else ""
    problems.warn(
        "unknown-part",
        file,
        "the feature is neither centreline nor water and is left out",
        f"{meant}set {column} to centreline or water, or delete the feature",
        row=row,
        column=column,
        value=word,
    )


def _centreline(
    parts: gpd.GeoDataFrame, file: str, problems: ProblemList
) -> LineString | None:
    found = parts.loc[parts.part == "centreline", "geometry"]
    if found.empty:
        problems.refuse(
            "no-centreline",
            file,
            "the channel has no centreline",
            "draw one line downstream along the middle, with part = centreline"
            " (a shapefile cannot hold lines beside areas: use GeoJSON)",
        )
        return None
    line = found.iloc[0]
    if isinstance(line, MultiLineString):
        line = shapely.line_merge(line, directed=True)
    row = int(found.index[min(1, len(found) - 1)])
    return _one_line(line, len(found), file, problems, row=row)


def _one_line(
    line: BaseGeometry, count: int, file: str, problems: ProblemList, *, row: int
) -> LineString | None:
    if count > 1 or not isinstance(line, LineString):
        problems.refuse(
            "centreline-not-one-line",
            file,
            f"the centreline is {count} features, the first a {line.geom_type}",
            "draw it as a single line, downstream, without gaps",
            row=row,
        )
        return None
    if not line.is_simple:
        problems.refuse(
            "centreline-crosses-itself",
            file,
            "the centreline crosses itself",
            "redraw it without the loop",
            row=row,
        )
        return None
    if line.is_closed:
        problems.refuse(
            "centreline-closed",
            file,
            "the centreline is a closed ring: it has neither an upper nor a lower end",
            "draw it from the upper to the lower end of the stretch",
            row=row,
        )
        return None
    return line


def _water(parts: gpd.GeoDataFrame, file: str, problems: ProblemList) -> Polygon | None:
    found = parts[parts.part == "water"].geometry
    if found.empty:
        problems.refuse(
            "no-water",
            file,
            "the channel has no water",
            "draw the wetted area at normal level as a polygon with part = water",
        )
        return None
    pieces = repaired(found, file, problems)
    return _one_polygon(shapely.union_all(pieces.to_numpy()), file, problems)


def _one_polygon(
    shape: BaseGeometry, file: str, problems: ProblemList
) -> Polygon | None:
    polygons = [
        part
        for part in getattr(shape, "geoms", [shape])
        for part in (part.geoms if isinstance(part, MultiPolygon) else [part])
        if isinstance(part, Polygon) and not part.is_empty
    ]
    if not polygons:
        problems.refuse(
            "water-not-polygon",
            file,
            f"the water is a {shape.geom_type}, not a polygon",
            "draw the wetted area as a closed polygon",
        )
        return None
    largest = max(polygons, key=lambda polygon: float(polygon.area))
    lost = 1 - largest.area / sum(polygon.area for polygon in polygons)
    if lost > CRUMB:
        problems.refuse(
            "water-in-pieces",
            file,
            f"the water is {len(polygons)} separate pieces",
            "join them into one polygon, with islands as holes",
        )
        return None
    if len(polygons) > 1:
        _warn_of_crumbs(len(polygons) - 1, lost, file, problems)
    return largest


def _warn_of_crumbs(loose: int, lost: float, file: str, problems: ProblemList) -> None:
    problems.warn(
        "water-crumbs",
        file,
        f"{loose} loose piece{'s' * (loose > 1)} of water, {lost:.2%} of the whole, "
        "left out",
        "delete what is no part of the river",
    )
