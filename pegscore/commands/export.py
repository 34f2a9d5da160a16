"""``pegscore export``: files for members or for the committee."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.exports.edition import edition_of
from pegscore.exports.folder import write_edition
from pegscore.levels import without_floods
from pegscore.mapping import map_run, rank_levels
from pegscore.opening import open_asked

if TYPE_CHECKING:
    from argparse import Namespace


def run(options: Namespace) -> int:
    """Write every file that an audience may see into one folder."""
    progress = screen.ProgressLines(silent=options.quiet)
    opened = without_floods(open_asked(options, progress), progress)
    ranking = rank_levels(opened, progress=progress)
    edition = edition_of(opened, ranking, options.audience)
    folder = options.out or opened.out / f"for-{options.audience}"
    written = write_edition(edition, folder, paper=options.paper, progress=progress)
    page = folder / "map.html"
    map_run(opened, page, edition=options.audience, ranked=ranking, progress=progress)
    written.append(page)
    progress("done")
    if options.json:
        screen.show_json({"for": options.audience, "files": [str(p) for p in written]})
        return screen.DONE
    for path in written:
        screen.show(f"{path.relative_to(folder)}")
    screen.show(f"Written for {options.audience}: {folder}")
    if options.audience == "committee":
        screen.show("Not for members: it may hold spawning places, notes and returns.")
    return screen.DONE
