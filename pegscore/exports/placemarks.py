"""KML 2.2: pegs, their swims and the places to mind, for globes on a screen."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pygeoif
from fastkml.containers import Document, Folder
from fastkml.features import Placemark
from fastkml.kml import KML

from layers.raster import replacing
from layers.river import WGS84
from pegscore.exports.shapes_files import swim_features
from pegscore.exports.words import peg_words, warning_words
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from shapely.geometry.base import BaseGeometry

    from pegscore.exports.edition import Edition


def write_kml(edition: Edition, path: Path) -> Path:
    """Write pegs, swims and places as KML 2.2.

    A viewer takes a description for HTML, so every one is escaped once for it and
    once more, by the writer, for the file.

    References
    ----------
    OGC 07-147r2, KML 2.2.
    """
    about = escape(" ".join(edition.about))
    document = Document(name=edition.river, description=about)
    for folder in (_pegs(edition), _swims(edition), _places(edition)):
        if folder.features:
            document.append(folder)
    book = KML(features=[document])
    with replacing(path) as temporary:
        temporary.write_text(book.to_string(prettyprint=True), encoding="utf-8")
    return path


def _pegs(edition: Edition) -> Folder:
    folder = Folder(name="Pegs")
    for name, peg in edition.rows():
        told = f"{peg_words(peg)}. {warning_words(peg, edition)}"
        seat = pygeoif.Point(peg["longitude"], peg["latitude"])
        folder.append(
            Placemark(name=one_line(name), description=escape(told), geometry=seat)
        )
    return folder


def _swims(edition: Edition) -> Folder:
    folder = Folder(name="Water in reach", visibility=False)
    swims = swim_features(edition).to_crs(WGS84)
    for name, shape in zip(swims["peg"], swims.geometry, strict=True):
        title = f"Water in reach of peg {name}"
        folder.append(Placemark(name=title, visibility=False, geometry=_drawn(shape)))
    return folder


def _places(edition: Edition) -> Folder:
    folder = Folder(name="Places to mind")
    told = list(edition.told_places())
    shapes = gpd.GeoSeries([shape for _, shape in told], crs=edition.crs).to_crs(WGS84)
    for (words, _), shape in zip(told, shapes, strict=True):
        folder.append(Placemark(name=words, geometry=_drawn(shape)))
    return folder


def _drawn(shape: BaseGeometry) -> Any:  # noqa: ANN401 - the writer's own geometry
    told: Any = shape.__geo_interface__
    return pygeoif.shape(told)
