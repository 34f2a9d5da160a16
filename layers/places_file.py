"""``places.*``: what stands on the bank and in the water."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
import shapely

from layers.cells import month_day
from layers.placement import place
from layers.plausible import warn_of_breaks
from layers.river import PLACE_KINDS
from layers.shapes import attributes, into_crs, repaired
from layers.sheet import Sheet
from layers.tables import Table

if TYPE_CHECKING:
    from shapely import Polygon

    from layers.placement import Stretch
    from layers.problems import ProblemList

FAR_AWAY_M = 2000.0
"""A place further than this from the water concerns no peg of the stretch."""


def read_place_shapes(
    shapes: gpd.GeoDataFrame, file: str, stretch: Stretch, problems: ProblemList
) -> gpd.GeoDataFrame | None:
    """Return places drawn as features, in the survey's CRS."""
    table = Table(cells=attributes(shapes), comma_decimals=False)
    sheet = Sheet("places", file, table, problems)
    warn_of_breaks(sheet)
    if stretch.crs is not None:
        shapes = into_crs(shapes, stretch.crs, file, problems)
    return _read(sheet, repaired(shapes.geometry, file, problems), stretch)


def read_place_points(sheet: Sheet, stretch: Stretch) -> gpd.GeoDataFrame | None:
    """Return places given as a table of points."""
    placed = place(sheet, stretch)
    if placed is None:
        _read(sheet, None, stretch)
        return None
    points = gpd.GeoSeries(
        shapely.points(placed.here.easting, placed.here.northing),
        index=sheet.index,
        crs=stretch.crs,
    )
    return _read(sheet, points, stretch)


def _read(
    sheet: Sheet, geometry: gpd.GeoSeries | None, stretch: Stretch
) -> gpd.GeoDataFrame | None:
    kind = sheet.words("kind", PLACE_KINDS)
    first, last = _days(sheet, "from"), _days(sheet, "to")
    _check_both_days(sheet)
    name = sheet.text("name")
    unused = sheet.unused()
    if not sheet.require("kind") or geometry is None:
        return None
    sheet.refuse_empty("kind")
    if stretch.water is not None:
        _warn_of_far(sheet, geometry, stretch.water)
    values = {"kind": kind, "name": name, "from_day": first, "to_day": last}
    columns = pd.concat([pd.DataFrame(values), unused], axis="columns")
    return gpd.GeoDataFrame(columns, geometry=geometry, crs=geometry.crs)


def _days(sheet: Sheet, name: str) -> pd.Series:
    text = sheet.text(name)
    wrong = (text != "") & text.map(month_day).isna()
    sheet.refuse(
        "not-a-month-day",
        wrong,
        "this is no day of the year",
        "write month-day, as 03-15 for the 15th of March",
        column=name,
    )
    return text.astype(object).where((text != "") & ~wrong, None)


def _check_both_days(sheet: Sheet) -> None:
    first, last = sheet.text("from") != "", sheet.text("to") != ""
    column = "from" if sheet.has("from") else "to"
    sheet.refuse(
        "empty-cell",
        first != last,
        "a season needs its first and its last day",
        "fill both from and to, or neither",
        column=column,
    )


def _warn_of_far(sheet: Sheet, geometry: gpd.GeoSeries, water: Polygon) -> None:
    far = geometry.distance(water) > FAR_AWAY_M
    sheet.warn(
        "far-outside",
        far,
        f"the place is more than {FAR_AWAY_M:g} m from the water",
        "check where it was drawn, and the file's CRS",
        column="kind",
    )
