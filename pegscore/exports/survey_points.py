"""The places to measure next, for the person in the boat: GPX and CSV."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gpxpy.gpx import GPX, GPXWaypoint
from pyproj import CRS

from layers.raster import replacing
from pegscore.exports.positions import degrees, grid_reference
from pegscore.tables import write_table
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd

BOAT_CAUTION = (
    "Sound only in low, settled water, never alone and never near weirs; wear a "
    "buoyancy aid; work from the bank where you can. No place here is worth a risk."
)
KEPT = (
    "order",
    "kind",
    "easting",
    "northing",
    "longitude",
    "latitude",
    "grid_reference",
    "chainage_m",
    "sd",
    "gain",
    "pegs",
    "why",
)


def write_gaps(gaps: gpd.GeoDataFrame, river: str, out: Path) -> tuple[Path, Path]:
    """Write ``gaps.csv`` and ``gaps.gpx`` into ``out``, each complete or not at all.

    Parameters
    ----------
    gaps : GeoDataFrame
        As ``pegscore.gaps.find_gaps`` returns it.
    river : str
        The stretch's name.
    out : Path
    """
    table = placed(gaps)
    sheet, points = out / "gaps.csv", out / "gaps.gpx"
    rounded = table[list(KEPT)].round({"sd": 3, "gain": 5, "chainage_m": 1})
    write_table(rounded.round({"easting": 1, "northing": 1}), sheet)
    with replacing(points) as temporary:
        temporary.write_text(_book(table, river).to_xml("1.1"), encoding="utf-8")
    return sheet, points


def placed(gaps: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the places with their degrees and grid reference."""
    lonlat = degrees(gaps.geometry)
    references = [
        grid_reference(east, north, CRS(gaps.crs))
        for east, north in zip(gaps["easting"], gaps["northing"], strict=True)
    ]
    return gaps.assign(
        longitude=lonlat[:, 0], latitude=lonlat[:, 1], grid_reference=references
    )


def _book(table: gpd.GeoDataFrame, river: str) -> GPX:
    book = GPX()
    book.creator = "pegscore"
    book.name = f"{one_line(river)}: where to measure next"
    book.description = BOAT_CAUTION
    columns = ("order", "kind", "why", "longitude", "latitude")
    for order, kind, why, longitude, latitude in zip(
        *(table[name] for name in columns), strict=True
    ):
        book.waypoints.append(
            GPXWaypoint(
                latitude=latitude,
                longitude=longitude,
                name=f"{order} {kind}",
                description=one_line(why),
                comment=BOAT_CAUTION,
                type=str(kind),
            )
        )
    return book
