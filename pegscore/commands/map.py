"""``pegscore map``: the map in one file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.levels import without_floods
from pegscore.mapping import map_run
from pegscore.opening import open_asked
from pegscore.pages.tiles import Tiles

if TYPE_CHECKING:
    from argparse import Namespace

FILES = {"members": "map.html", "committee": "map-committee.html"}
"""Where each edition goes by default: never the one over the other."""


def run(options: Namespace) -> int:
    """Write the map as one file."""
    progress = screen.ProgressLines(silent=options.quiet)
    tiles = _tiles(options)
    opened = without_floods(open_asked(options, progress), progress)
    edition = options.edition
    page = map_run(
        opened,
        options.out or opened.out / FILES[edition],
        edition=edition,
        method=options.method,
        tiles=tiles,
        progress=progress,
    )
    progress("done")
    if options.json:
        size = page.stat().st_size
        screen.show_json({"map": str(page), "bytes": size, "edition": edition})
        return screen.DONE
    screen.show(f"Open the map in a browser: {page}")
    if edition == "committee":
        screen.show("It holds notes, returns and spawning places: not for passing on.")
    return screen.DONE


def _tiles(options: Namespace) -> Tiles | None:
    """Refuse a useless address before the minutes that a map may take."""
    if options.tiles is None:
        return None
    return Tiles(address=options.tiles, credit=options.tiles_credit)
