"""GPX 1.1: one waypoint a peg, for handheld receivers and telephones."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gpxpy.gpx import GPX, GPXWaypoint

from layers.raster import replacing
from pegscore.exports.words import peg_words, warning_words
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from pegscore.exports.edition import Edition


def write_gpx(edition: Edition, path: Path) -> Path:
    """Write the pegs as GPX 1.1 waypoints.

    References
    ----------
    GPX 1.1 schema documentation, topografix.com/GPX/1/1.
    """
    book = GPX()
    book.creator = "pegscore"
    book.name = edition.river
    book.description = " ".join(edition.about)
    for name, peg in edition.rows():
        book.waypoints.append(
            GPXWaypoint(
                latitude=peg["latitude"],
                longitude=peg["longitude"],
                name=one_line(name),
                description=peg_words(peg),
                comment=warning_words(peg, edition),
                type="peg",
            )
        )
    with replacing(path) as temporary:
        temporary.write_text(book.to_xml(version="1.1"), encoding="utf-8")
    return path
