"""GeoJSON for the web and a GeoPackage for a desktop GIS."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET  # nosec B405

import geopandas as gpd
import pandas as pd
import pyogrio

from layers.raster import replacing
from layers.river import WGS84
from layers.stack import SAME_LEVEL_M
from pegscore.exports.positions import DECIMALS_DEGREES
from pegscore.exports.words import peg_words, warning_words
from pegscore.pages.palette import SCORE
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from pegscore.exports.edition import Edition


def peg_features(edition: Edition) -> gpd.GeoDataFrame:
    """Return the pegs with their scores beside each other, a row a peg."""
    pegs = edition.pegs.drop(columns="swim").rename_axis("peg").reset_index()
    pegs["peg"] = pegs["peg"].map(one_line)
    pegs["words"] = [peg_words(peg) for _, peg in edition.rows()]
    pegs["warning"] = [warning_words(peg, edition) for _, peg in edition.rows()]
    near = (edition.scores["level_m"] - edition.level_m).abs() < SAME_LEVEL_M
    for name, rows in edition.scores[near].groupby("species", sort=False):
        own = rows.set_index("peg").reindex(edition.pegs.index)
        for figure in ("score", "low", "high"):
            pegs[f"{figure}_{name}"] = own[figure].to_numpy(float).round(4)
    return pegs


def swim_features(edition: Edition) -> gpd.GeoDataFrame:
    """Return the water in reach of each peg that has any."""
    swims = gpd.GeoDataFrame(
        {"peg": [one_line(str(peg)) for peg in edition.pegs.index]},
        geometry=list(edition.pegs["swim"]),
        crs=edition.crs,
    )
    return swims[~(swims.geometry.isna() | swims.geometry.is_empty)]


def place_features(edition: Edition) -> gpd.GeoDataFrame | None:
    """Return the places that this audience may see, their text on one line."""
    if edition.places is None or edition.places.empty:
        return None
    places = edition.places.copy()
    for column in places.select_dtypes(include=["object", "string"]):
        places[column] = places[column].map(one_line)
    return places


def write_geojson(edition: Edition, folder: Path) -> list[Path]:
    """Write pegs, swims and places as GeoJSON: WGS 84, right-hand rule.

    References
    ----------
    RFC 7946 (2016).
    """
    tables = {
        "pegs": peg_features(edition),
        "swims": swim_features(edition),
        "places": place_features(edition),
    }
    written = []
    for name, table in tables.items():
        if table is None or table.empty:
            continue
        path = folder / f"{name}.geojson"
        with replacing(path) as temporary:
            pyogrio.write_dataframe(
                table.to_crs(WGS84),
                temporary,
                driver="GeoJSON",
                layer=name,
                RFC7946="YES",
                COORDINATE_PRECISION=DECIMALS_DEGREES,
                DESCRIPTION=" ".join(edition.about),
            )
        written.append(path)
    return written


def write_geopackage(edition: Edition, path: Path) -> Path:
    """Write every layer into one GeoPackage with a default style for the pegs.

    The table ``layer_styles`` is where desktop programs look for a layer's look;
    ``about`` holds the cautions.
    """
    pegs = peg_features(edition)
    layers: dict[str, gpd.GeoDataFrame | pd.DataFrame | None] = {
        "water": gpd.GeoDataFrame(geometry=[edition.water], crs=edition.crs),
        "swims": swim_features(edition),
        "places": place_features(edition),
        "pegs": pegs,
        "scores": edition.scores,
        "about": pd.DataFrame({"about": list(edition.about)}),
        "layer_styles": _styles(),
    }
    with replacing(path) as temporary:
        temporary.unlink()
        for name, table in layers.items():
            if table is not None and not table.empty:
                more = temporary.exists()
                pyogrio.write_dataframe(
                    table,
                    temporary,
                    driver="GPKG",
                    layer=name,
                    append=more,
                )
    return path


def _styles() -> pd.DataFrame:
    """Return the style table's one row: a dark ringed dot for a peg."""
    return pd.DataFrame(
        {
            "f_table_catalog": [""],
            "f_table_schema": [""],
            "f_table_name": ["pegs"],
            "f_geometry_column": ["geom"],
            "styleName": ["pegs"],
            "styleQML": [_project_style()],
            "styleSLD": [_standard_style()],
            "useAsDefault": [True],
            "description": ["Pegs as dots with their numbers"],
            "owner": [""],
        }
    )


def _project_style() -> str:
    """Return the style in the words of the layer-style table."""
    root = ET.Element("qgis", version="3.0", labelsEnabled="1")
    renderer = ET.SubElement(root, "renderer-v2", type="singleSymbol")
    symbols = ET.SubElement(renderer, "symbols")
    symbol = ET.SubElement(symbols, "symbol", type="marker", name="0")
    dot = ET.SubElement(symbol, "layer", {"class": "SimpleMarker"})
    for key, value in (
        ("color", SCORE[-2]),
        ("outline_color", "#ffffff"),
        ("size", "3"),
    ):
        ET.SubElement(dot, "prop", k=key, v=value)
    labels = ET.SubElement(root, "labeling", type="simple")
    ET.SubElement(ET.SubElement(labels, "settings"), "text-style", fieldName="peg")
    return ET.tostring(root, encoding="unicode")


def _standard_style() -> str:
    """Return the same look as a Styled Layer Descriptor 1.0 (OGC 02-070)."""
    sld, ogc = "http://www.opengis.net/sld", "http://www.opengis.net/ogc"
    ET.register_namespace("", sld)
    ET.register_namespace("ogc", ogc)
    root = ET.Element(f"{{{sld}}}StyledLayerDescriptor", version="1.0.0")
    step = root
    for name in ("NamedLayer", "UserStyle", "FeatureTypeStyle", "Rule"):
        if name == "UserStyle":
            ET.SubElement(step, f"{{{sld}}}Name").text = "pegs"
        step = ET.SubElement(step, f"{{{sld}}}{name}")
    rule = step
    graphic = ET.SubElement(
        ET.SubElement(rule, f"{{{sld}}}PointSymbolizer"), f"{{{sld}}}Graphic"
    )
    mark = ET.SubElement(graphic, f"{{{sld}}}Mark")
    ET.SubElement(mark, f"{{{sld}}}WellKnownName").text = "circle"
    fill = ET.SubElement(mark, f"{{{sld}}}Fill")
    ET.SubElement(fill, f"{{{sld}}}CssParameter", name="fill").text = SCORE[-2]
    ET.SubElement(graphic, f"{{{sld}}}Size").text = "10"
    text = ET.SubElement(rule, f"{{{sld}}}TextSymbolizer")
    label = ET.SubElement(text, f"{{{sld}}}Label")
    ET.SubElement(label, f"{{{ogc}}}PropertyName").text = "peg"
    return ET.tostring(root, encoding="unicode")
