"""Layouts as files: ``layout.csv``, ``layout.geojson``, and a drawn one read back.

The GeoJSON follows RFC 7946: one FeatureCollection, WGS 84, ``[longitude,
latitude]``. A feature is a Point at the angler's seat with the properties ``peg``
(its name, unique), ``easting``, ``northing`` (metres, the survey's own system),
``bank`` (``left`` or ``right`` facing downstream), ``chainage_m``, ``score``,
``section`` (null without sections) and ``step_free``.

What is read back (``pegscore layout --from``), such as a planning board's download,
needs of each feature a Point, ``peg`` and, if it is given, a true ``bank``; every
other property is worked out afresh and never believed. A whole number counts as a
name. The collection may carry a member ``rules`` with ``spacing_m``, used where the
command line gives none; other members are left alone. Coordinates need seven
decimals; ``ROUNDING_M`` is allowed for them when spacings are checked.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NamedTuple

import geopandas as gpd
import pandas as pd
import shapely

from layers.raster import replacing
from layers.river import WGS84
from pegscore.curves import is_number
from pegscore.errors import LayoutRefused
from pegscore.screen import plain
from pegscore.tables import write_table
from pegscore.wording import NO_PROMISE

if TYPE_CHECKING:
    from pathlib import Path

    from pyproj import CRS

COLUMNS = (
    "peg",
    "easting",
    "northing",
    "bank",
    "chainage_m",
    "score",
    "section",
    "step_free",
)
"""The columns of a layout, in this order."""

DECIMALS = {"easting": 3, "northing": 3, "chainage_m": 2, "score": 4}
DEGREES = 8
"""Places of a coordinate: about a millimetre."""

ROUNDING_M = 0.02
"""What seven decimals of a degree can take off a distance between two pegs."""

MOST_SPACING_M = 1e6
"""A spacing that a file tells is not believed beyond this."""

NOTE = (
    "The committee's working paper. Where no peg is planned can tell of spawning "
    f"grounds: publish the pegs, not the reasons. {NO_PROMISE}"
)


class Drawn(NamedTuple):
    """A layout as read: names, seats and banks as told, and the spacing it was for."""

    pegs: pd.DataFrame
    spacing_m: float | None


def write_layout(
    table: gpd.GeoDataFrame, out: Path, *, spacing_m: float
) -> tuple[Path, Path]:
    """Write ``layout.csv`` and ``layout.geojson`` into ``out``.

    Each is replaced only when its successor is complete.
    """
    rounded = table[list(COLUMNS)].round(DECIMALS)
    csv, shapes = out / "layout.csv", out / "layout.geojson"
    write_table(rounded, csv)
    with replacing(shapes) as temporary:
        text = json.dumps(_collection(table, rounded, spacing_m), indent=1)
        temporary.write_text(text + "\n", encoding="utf-8")
    return csv, shapes


def _collection(
    table: gpd.GeoDataFrame, rounded: pd.DataFrame, spacing_m: float
) -> dict[str, Any]:
    spots = shapely.get_coordinates(table.geometry.to_crs(WGS84).to_numpy())
    features = [
        {
            "type": "Feature",
            "geometry": {
                "type": "Point",
                "coordinates": [round(float(degree), DEGREES) for degree in spot],
            },
            "properties": plain(row),
        }
        for spot, row in zip(spots, rounded.to_dict("records"), strict=True)
    ]
    return {
        "type": "FeatureCollection",
        "rules": {"spacing_m": spacing_m},
        "note": NOTE,
        "features": features,
    }


def read_layout(path: Path, crs: CRS) -> Drawn:
    """Read a drawn layout into the survey's system.

    Returns
    -------
    Drawn
        ``pegs`` with ``peg`` (text), ``easting``, ``northing`` (metres) and ``bank``
        (text, empty if not told).

    Raises
    ------
    LayoutRefused
        With every feature that cannot be used.
    """
    told = _parsed(path)
    features = told.get("features")
    if told.get("type") != "FeatureCollection" or not isinstance(features, list):
        message = f"{path.name} is no FeatureCollection; save the layout as GeoJSON"
        raise LayoutRefused(message)
    if not features:
        message = f"{path.name} holds no pegs; place some and save it again"
        raise LayoutRefused(message)
    rows = [_feature(feature) for feature in features]
    wrong = [
        f"{path.name}: feature {number}: {row}"
        for number, row in enumerate(rows, 1)
        if isinstance(row, str)
    ]
    good = [row for row in rows if not isinstance(row, str)]
    wrong += _twice([row[0] for row in good], path.name)
    if wrong:
        raise LayoutRefused("\n".join(wrong))
    names, banks, longitude, latitude = zip(*good, strict=True)
    spots = gpd.GeoSeries(shapely.points(longitude, latitude), crs=WGS84).to_crs(crs)
    pegs = pd.DataFrame(
        {"peg": names, "easting": spots.x, "northing": spots.y, "bank": banks}
    )
    return Drawn(pegs, _spacing(told.get("rules")))


def _parsed(path: Path) -> dict[str, Any]:
    try:
        told = json.loads(path.read_text(encoding="utf-8-sig"))
    except (ValueError, RecursionError) as error:
        message = f"{path.name} is not JSON ({error}); save the layout as GeoJSON"
        raise LayoutRefused(message) from error
    return told if isinstance(told, dict) else {}


def _feature(feature: object) -> tuple[str, str, float, float] | str:
    """Return name, bank, longitude and latitude, or what is wrong."""
    feature = feature if isinstance(feature, dict) else {}
    properties, shape = feature.get("properties"), feature.get("geometry")
    properties = properties if isinstance(properties, dict) else {}
    name = properties.get("peg")
    if isinstance(name, bool) or not isinstance(name, (str, int)) or name == "":
        return f"its peg is {name!r}; give it a name"
    if not isinstance(shape, dict) or shape.get("type") != "Point":
        return f"peg {name} is no Point; give it one place"
    place = shape.get("coordinates")
    if not (isinstance(place, list) and len(place) >= 2 and _on_earth(place)):  # noqa: PLR2004 - longitude and latitude
        return f"peg {name} lies at {place!r}; give longitude and latitude in degrees"
    return (
        str(name),
        str(properties.get("bank") or ""),
        float(place[0]),
        float(place[1]),
    )


def _on_earth(place: list[Any]) -> bool:
    limits = zip(place[:2], (180, 90), strict=True)
    return all(is_number(at) and abs(at) <= most for at, most in limits)


def _twice(names: list[str], file: str) -> list[str]:
    again = sorted({name for name in names if names.count(name) > 1})
    return [f"{file}: peg {name} is there more than once; rename one" for name in again]


def _spacing(rules: object) -> float | None:
    told = rules.get("spacing_m") if isinstance(rules, dict) else None
    return float(told) if is_number(told) and 0 < told < MOST_SPACING_M else None
