"""``pegscore map``: the map in one file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.mapping import map_run
from pegscore.methods import find_method
from pegscore.workflow import open_run

if TYPE_CHECKING:
    from argparse import Namespace


def run(options: Namespace) -> int:
    """Write the map as one file."""
    progress = screen.ProgressLines(silent=options.quiet)
    find_method(options.method)
    opened = open_run(
        options.survey,
        cell_m=options.cell,
        levels_m=options.level or (),
        method=options.method,
        progress=progress,
    )
    page = map_run(opened, options.out or opened.out / "map.html", progress=progress)
    progress("done")
    if options.json:
        screen.show_json({"map": str(page), "bytes": page.stat().st_size})
    else:
        screen.show(f"Open the map in a browser: {page}")
    return screen.DONE
