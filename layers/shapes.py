"""Vector files in: checked for what they are, and put into the survey's CRS.

GeoJSON is always WGS 84 (RFC 7946), whatever a file of the older kind may say.
"""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely
from pyogrio.errors import (
    CRSError,
    DataLayerError,
    DataSourceError,
    FeatureError,
    FieldError,
    GeometryError,
)

from layers.cells import text_of
from layers.endless import BROKEN, NO_PLACE, refuse_endless
from layers.river import WGS84
from layers.shape_kinds import is_of_its_kind, must_be_read_by_its_own
from layers.tables import Table

if TYPE_CHECKING:
    from pathlib import Path

    from pyproj import CRS

    from layers.problems import ProblemList


KML_ONLY = (
    *("id", "description", "timestamp", "begin", "end", "altitudemode", "tessellate"),
    *("extrude", "visibility", "draworder", "icon", "snippet"),
)
"""Columns that the KML reader makes up for every file."""

MOST_LONGITUDE, MOST_LATITUDE = 180.0, 90.0

_FAILURES = (
    CRSError,
    DataLayerError,
    DataSourceError,
    FeatureError,
    FieldError,
    GeometryError,
    shapely.GEOSException,
    ValueError,
    OSError,
)


UNDEFINED = ("undefined geographic", "undefined cartesian")
"""What a GeoPackage calls no reference system, as GDAL writes it; older readers hand it
on as if it were one."""


def read_shapes(path: Path, problems: ProblemList) -> gpd.GeoDataFrame | None:
    """Read every layer of a vector file, in the file's own CRS, without heights.

    The index ``row`` is the feature's number, from 1. Column names are in small
    letters.

    Returns
    -------
    GeoDataFrame or None
        None if there is nothing to use; ``problems`` then says why.
    """
    if not is_of_its_kind(path, problems):
        return None
    try:
        with warnings.catch_warnings(record=True) as said:
            warnings.simplefilter("always")
            frame = _all_layers(path)
    except _FAILURES as error:
        problems.refuse(
            "unreadable",
            path.name,
            f"the file cannot be read as shapes ({error})",
            "export it again from a GIS as GeoPackage or GeoJSON",
        )
        return None
    for word in sorted({str(warning.message) for warning in said}):
        problems.warn("reader-warning", path.name, word, "look at the file in a GIS")
    return _usable(frame, path, problems)


def _all_layers(path: Path) -> gpd.GeoDataFrame:
    names = [name for name, kind in pyogrio.list_layers(path) if kind is not None]
    if names:
        must_be_read_by_its_own(path)
    frames = [pyogrio.read_dataframe(path, layer=name) for name in names]
    if not frames:
        return gpd.GeoDataFrame({"geometry": []}, geometry="geometry")
    crs = frames[0].crs
    same = [frame if frame.crs == crs else frame.to_crs(crs) for frame in frames]
    joined = same[0] if len(same) == 1 else pd.concat(same, ignore_index=True)
    return gpd.GeoDataFrame(joined, crs=crs)


def _usable(
    frame: gpd.GeoDataFrame, path: Path, problems: ProblemList
) -> gpd.GeoDataFrame | None:
    frame = frame.rename(columns=lambda name: str(name).strip().lower())
    frame = frame.loc[:, ~frame.columns.duplicated()].set_geometry("geometry")
    if path.suffix.lower() == ".kml":
        frame = frame.drop(columns=[name for name in KML_ONLY if name in frame])
    frame.index = pd.RangeIndex(1, len(frame) + 1, name="row")
    without = frame.geometry.isna() | frame.geometry.is_empty
    for row in frame.index[without]:
        problems.warn(
            "no-geometry",
            path.name,
            "the feature has no geometry and is left out",
            "draw it or delete it",
            row=int(row),
        )
    frame = frame[~without]
    if frame.empty:
        problems.refuse(
            "no-rows",
            path.name,
            "the file holds no drawn features",
            "draw them, or delete the file to go without",
        )
        return None
    if len(refuse_endless(frame, path.name, problems, *BROKEN)):
        return None
    with np.errstate(invalid="ignore"):  # a height may be anything: it is not used
        flat = shapely.force_2d(frame.geometry.to_numpy())
    frame = frame.set_geometry(flat)
    return _with_crs(frame, path, problems)


def _with_crs(
    frame: gpd.GeoDataFrame, path: Path, problems: ProblemList
) -> gpd.GeoDataFrame | None:
    if path.suffix.lower() == ".geojson":
        return _as_wgs84(frame, path, problems)
    if frame.crs is None or frame.crs.name.lower().startswith(UNDEFINED):
        problems.refuse(
            "no-crs",
            path.name,
            "the file does not say in which reference system its coordinates are",
            "set it in a GIS and export again as GeoPackage (a shapefile needs its "
            ".prj file beside it)",
        )
        return None
    return frame


def _as_wgs84(
    frame: gpd.GeoDataFrame, path: Path, problems: ProblemList
) -> gpd.GeoDataFrame | None:
    west, south, east, north = frame.total_bounds
    if max(abs(west), abs(east)) > MOST_LONGITUDE or (
        max(abs(south), abs(north)) > MOST_LATITUDE
    ):
        problems.refuse(
            "geojson-not-degrees",
            path.name,
            "GeoJSON is always WGS 84 longitude and latitude (RFC 7946), but these "
            f"coordinates are beyond degrees (x up to {east:.0f}, y up to {north:.0f})",
            "export it again with the CRS EPSG:4326, or as GeoPackage",
        )
        return None
    if frame.crs is not None and not frame.crs.is_geographic:
        problems.warn(
            "geojson-crs",
            path.name,
            f"the file claims {frame.crs.to_string()}, but GeoJSON is always WGS 84 "
            "(RFC 7946) and was read so",
            "look at the map; if it is off, export again with the CRS EPSG:4326",
        )
    return frame.set_crs(WGS84, allow_override=True)


def into_crs(
    frame: gpd.GeoDataFrame, crs: CRS | str, file: str, problems: ProblemList
) -> gpd.GeoDataFrame:
    """Return the shapes in the survey's CRS; those it has no place for are refused."""
    if frame.crs == crs:
        return frame
    placed = frame.to_crs(crs)
    return placed.drop(index=refuse_endless(placed, file, problems, *NO_PLACE))


def repaired(
    geometry: gpd.GeoSeries, file: str, problems: ProblemList
) -> gpd.GeoSeries:
    """Return the shapes with those that were drawn wrongly made valid."""
    wrong = ~geometry.is_valid
    for row in wrong.index[wrong]:
        problems.warn(
            "invalid-polygon",
            file,
            f"the shape was drawn wrongly ({shapely.is_valid_reason(geometry[row])}) "
            "and was repaired",
            "look at the map; redraw it so that its edge does not cross itself",
            row=int(row),
        )
    with np.errstate(invalid="ignore"):  # shapely 2.1 says so of what it mends
        return geometry.where(~wrong, geometry.make_valid())


def points_table(
    frame: gpd.GeoDataFrame, file: str, crs: CRS | None, problems: ProblemList
) -> Table | None:
    """Return point features as a table of text with their place as coordinates.

    The columns ``x, y`` are metres in ``crs``; while the survey's CRS is not
    known, the place is given as ``lon, lat``.
    """
    for row in frame.index[frame.geom_type != "Point"]:
        problems.refuse(
            "not-a-point",
            file,
            f"the feature is a {frame.geom_type[row]} where a point is wanted",
            "export points, one a row",
            row=int(row),
        )
    frame = into_crs(frame[frame.geom_type == "Point"], crs or WGS84, file, problems)
    if frame.empty:
        return None
    names = ("lon", "lat") if crs is None else ("x", "y")
    columns = attributes(frame.drop(columns=["x", "y", "lon", "lat"], errors="ignore"))
    columns[names[0]] = [repr(float(x)) for x in frame.geometry.x]
    columns[names[1]] = [repr(float(y)) for y in frame.geometry.y]
    return Table(cells=columns, comma_decimals=False)


def attributes(frame: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return everything but the geometry as text, ``""`` where empty."""
    given = frame.drop(columns="geometry")
    columns = {name: [text_of(value) for value in given[name]] for name in given}
    return pd.DataFrame(columns, index=frame.index, dtype=object)
