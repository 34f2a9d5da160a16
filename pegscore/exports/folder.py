"""Every file of an edition into one folder, each complete or not there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.pipeline import quiet
from layers.raster import replacing
from pegscore.exports.coverages import write_coverages
from pegscore.exports.placemarks import write_kml
from pegscore.exports.shapes_files import write_geojson, write_geopackage
from pegscore.exports.waypoints import write_gpx
from pegscore.exports.workbook import write_csv, write_workbook
from pegscore.prints.peg_cards import write_cards
from pegscore.prints.river_map import write_river_map

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pegscore.exports.edition import Edition
    from pegscore.prints.strips import Paper


def write_edition(
    edition: Edition,
    folder: Path,
    *,
    paper: Paper = "a4",
    progress: Callable[[str], None] = quiet,
) -> list[Path]:
    """Write all files of an edition into ``folder`` and return them.

    A file of an earlier export is replaced only when its successor is complete.
    """
    progress("writing files for receivers, globes and spreadsheets")
    written = [
        write_about(edition, folder / "READ-ME.txt"),
        write_gpx(edition, folder / "pegs.gpx"),
        write_kml(edition, folder / "pegs.kml"),
        write_csv(edition, folder / "pegs.csv"),
        *write_geojson(edition, folder),
        write_geopackage(edition, folder / "river.gpkg"),
    ]
    if edition.audience == "committee":
        written.append(write_workbook(edition, folder / "river.xlsx"))
    progress("writing the layers")
    written += write_coverages(edition, folder / "layers")
    progress("drawing the map and the cards on paper")
    written.append(write_river_map(edition, folder / "map.pdf", paper=paper))
    written.append(write_cards(edition, folder / "peg-cards.pdf"))
    return written


def write_about(edition: Edition, path: Path) -> Path:
    """Write what has to travel with the files as plain text."""
    head = f"{edition.river}\nFor {edition.audience}.\n\n"
    with replacing(path) as temporary:
        temporary.write_text(
            head + "".join(f"- {line}\n" for line in edition.about), encoding="utf-8"
        )
    return path
