"""The kinds of vector file that are taken, and what a file must be to be one.

Only kinds that hold everything in themselves are read: a file's first bytes must be
of its kind, and the driver that reads it one of its own, so that none can point at
other files or at the network.
"""

from __future__ import annotations

import codecs
import re
from typing import TYPE_CHECKING

import pyogrio
from pyogrio.errors import DataSourceError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from layers.problems import ProblemList

FIRST_BYTES: Mapping[str, tuple[bytes, ...]] = {
    ".geojson": (b"{",),
    ".gpkg": (b"SQLite format 3\x00",),
    ".shp": (b"\x00\x00\x27\x0a",),
    ".kml": (b"<?xml", b"<kml"),
}
"""How a file of each kind begins."""

DRIVERS: Mapping[str, frozenset[str]] = {
    ".geojson": frozenset({"GeoJSON"}),
    ".gpkg": frozenset({"GPKG"}),
    ".shp": frozenset({"ESRI Shapefile"}),
    ".kml": frozenset({"KML", "LIBKML"}),
}
"""The only drivers of GDAL whose reading is taken, by kind of file."""

SUFFIXES = tuple(FIRST_BYTES)
"""The kinds of vector file that are read."""

FIRST_ELEMENT = re.compile(
    rb"(?:\xef\xbb\xbf)?\s*(?:<\?xml[^>]*\?>)?\s*(?:<!--.*?-->\s*)*<kml[\s>]", re.DOTALL
)
"""How a KML begins: a declaration, remarks, and the element ``kml``."""

LOOK_BYTES = 4096


def is_of_its_kind(path: Path, problems: ProblemList) -> bool:
    """Say whether a file begins as its name promises; if not, say so."""
    with path.open("rb") as file:
        start = file.read(LOOK_BYTES)
    if not start:
        problems.refuse(
            "empty-file",
            path.name,
            "the file is empty (0 bytes)",
            "export it again from the GIS, or delete it to go without",
        )
        return False
    suffix = path.suffix.lower()
    text = start.removeprefix(codecs.BOM_UTF8).lstrip()
    right = start.startswith(FIRST_BYTES[suffix]) or text.startswith(
        FIRST_BYTES[suffix]
    )
    if suffix == ".kml":
        right = right and _is_plain_kml(path.read_bytes())
    if not right:
        problems.refuse(
            "unreadable",
            path.name,
            f"what is in the file is not {suffix} with all its shapes in itself",
            "export it again from a GIS as GeoPackage or GeoJSON",
        )
    return right


def _is_plain_kml(data: bytes) -> bool:
    """Say whether the outermost element is ``kml`` and nothing points elsewhere."""
    root = FIRST_ELEMENT.match(data)
    foreign = (b"NetworkLink", b"<!ENTITY", b"<!DOCTYPE", b"SrcDataSource")
    return root is not None and not any(word in data for word in foreign)


def must_be_read_by_its_own(path: Path) -> None:
    """Refuse what only looks like a file of its kind to another of GDAL's drivers."""
    driver = str(pyogrio.read_info(path, layer=0)["driver"])
    if driver not in DRIVERS[path.suffix.lower()]:
        message = f"it is read as {driver}, which is not taken"
        raise DataSourceError(message)
