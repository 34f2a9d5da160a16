"""``pegscore demo``: the fictional river, copied out and run."""

from __future__ import annotations

import shutil
from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING

from layers.survey import read_survey
from pegscore import screen
from pegscore.answers import show_day, show_ranking
from pegscore.conditions import Conditions
from pegscore.day import rank_day
from pegscore.errors import PegError
from pegscore.mapping import map_run
from pegscore.prints.swim_page import write_swim_page
from pegscore.swim import SwimWishes, swim_sheet
from pegscore.tables import write_ranking
from pegscore.wishes import Wishes
from pegscore.workflow import open_run

if TYPE_CHECKING:
    from argparse import Namespace

    import geopandas as gpd

    from pegscore.workflow import Run


def run(options: Namespace) -> int:
    """Copy the fictional river to a folder and run every command on it."""
    folder = options.folder
    copy_demo(folder)
    progress = screen.ProgressLines(silent=options.quiet)
    normal_m = read_survey(folder).river.gauge.level_m
    opened = open_run(folder, levels_m=demo_levels_m(normal_m), progress=progress)
    conditions = Conditions(level_m=opened.survey.river.gauge.level_m)
    ranking = rank_day(opened, list(opened.species), conditions, progress=progress)
    write_ranking(ranking, opened.out)
    page = map_run(opened, opened.out / "map.html", ranked=ranking, progress=progress)
    peg, sheet = _best_swim(opened, ranking, progress)
    progress("done")
    if options.json:
        told = {"folder": folder, "map": page, "swim": sheet}
        screen.show_json({name: str(path) for name, path in told.items()})
        return screen.DONE
    screen.show(f"{opened.survey.river.name}: an invented river, in {folder}")
    count = screen.counted(len(opened.survey.warnings), "warning")
    screen.show(f"{count}; see: pegscore check {folder}")
    screen.show()
    show_day(opened, conditions, "metric")
    show_ranking(opened, "barbel", ranking, conditions, wishes=Wishes(top=5))
    screen.show()
    screen.show(f"Every species is in {opened.out / 'ranking.csv'}")
    screen.show(f"Peg {peg}'s swim on a page: {sheet}")
    screen.show(f"Open the map in a browser: {page}")
    return screen.DONE


def _best_swim(
    opened: Run, ranking: gpd.GeoDataFrame, progress: screen.ProgressLines
) -> tuple[str, Path]:
    """Draw the swim of the best barbel peg; return the peg and its page."""
    peg = str(ranking.loc[ranking["species"] == "barbel", "peg"].iloc[0])
    progress(f"drawing the swim of peg {peg}")
    level_m = opened.survey.river.gauge.level_m
    wishes = SwimWishes(species="barbel")
    sheet = swim_sheet(opened, peg, level_m=level_m, wishes=wishes)
    return peg, write_swim_page(sheet, opened)


def demo_levels_m(normal_m: float) -> tuple[float, ...]:
    """Return the levels the demo builds: low, normal and raised water."""
    return (round(normal_m - 0.2, 3), normal_m, round(normal_m + 0.35, 3))


def copy_demo(folder: Path) -> None:
    """Copy the shipped demo survey into ``folder``.

    Raises
    ------
    PegError
        If the folder holds something that the demo did not put there, such as a
        club's own survey under the same file names.
    """
    with as_file(demo_source()) as source:
        for path in sorted(folder.iterdir()) if folder.exists() else ():
            if path.name != "out" and not _is_of_demo(path, source):
                message = (
                    f"{folder} already holds {path.name!r}, which is not the demo's; "
                    "give an empty or new folder: pegscore demo DIR"
                )
                raise PegError(message)
        ignored = shutil.ignore_patterns("out", "__pycache__", "*.py", "*.png")
        shutil.copytree(source, folder, dirs_exist_ok=True, ignore=ignored)


def _is_of_demo(path: Path, source: Path) -> bool:
    """Say whether a file is, to the byte, one that the demo would put there."""
    shipped = source / path.name
    return (
        path.is_file()
        and shipped.is_file()
        and path.read_bytes() == shipped.read_bytes()
    )


def demo_source() -> Path:
    """Return the demo survey's folder: inside the wheel, or in the checkout."""
    inside = Path(str(files("pegscore"))) / "demo_river"
    beside = Path(str(files("pegscore"))).parent / "demo_river"
    return inside if inside.exists() else beside
