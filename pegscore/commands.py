"""What each command does: call the workflow, show the answer."""

from __future__ import annotations

import shutil
from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING

import layers
import pegscore
from layers.survey import check_survey, read_survey
from pegscore import screen
from pegscore.answers import ranking_record, show_outcome, show_ranking
from pegscore.conditions import Conditions
from pegscore.errors import PegError
from pegscore.mapping import map_run
from pegscore.methods import find_method
from pegscore.ranker_file import RANKER_FILE
from pegscore.record import versions
from pegscore.species import find_species, read_species
from pegscore.tables import write_ranking
from pegscore.workflow import build_layers, open_run, rank_run

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Mapping

    from layers.problems import ProblemList

DONE, REFUSED = 0, 1


def run_demo(options: Namespace) -> int:
    """Copy the fictional river to a folder and run every command on it."""
    folder = options.folder
    copy_demo(folder)
    progress = screen.ProgressLines(silent=options.quiet)
    normal_m = read_survey(folder).river.gauge.level_m
    run = open_run(folder, levels_m=demo_levels_m(normal_m), progress=progress)
    conditions = Conditions(level_m=run.survey.river.gauge.level_m)
    ranking = rank_run(run, list(run.species), conditions, progress=progress)
    write_ranking(ranking, run.out)
    page = map_run(run, run.out / "map.html", progress=progress)
    progress("done")
    if options.json:
        screen.show_json({"folder": str(folder), "map": str(page)})
        return DONE
    screen.show(f"{run.survey.river.name}: an invented river, in {folder}")
    count = screen.counted(len(run.survey.warnings), "warning")
    screen.show(f"{count}; see: pegscore check {folder}")
    screen.show()
    show_ranking(run, "barbel", ranking, conditions, top=5, units="metric")
    screen.show()
    screen.show(f"Every species is in {run.out / 'ranking.csv'}")
    screen.show(f"Open the map in a browser: {page}")
    return DONE


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


def run_check(options: Namespace) -> int:
    """Read everything and report every problem."""
    problems, survey = check_survey(options.survey)
    absent = {} if survey is None else dict(survey.absent)
    refused = bool(problems.refusals)
    if options.json:
        screen.show_json(
            {
                "ok": not refused,
                "problems": [problem.as_dict() for problem in problems.found],
                "absent": absent,
            }
        )
    elif refused:
        screen.complain(screen.problem_lines(problems.found))
    else:
        _show_check(options.survey, problems, absent)
    return REFUSED if refused else DONE


def _show_check(folder: Path, problems: ProblemList, absent: Mapping[str, str]) -> None:
    for line in screen.problem_lines(problems.found):
        screen.show(line)
    for name, effect in absent.items():
        screen.show(f"absent   {name}: {effect}")
    count = screen.counted(len(problems.warnings), "warning")
    screen.show(f"{folder}: can be used; {count}")


def run_build(options: Namespace) -> int:
    """Turn a survey into layers."""
    progress = screen.ProgressLines(silent=options.quiet)
    progress("reading the survey")
    survey = read_survey(options.survey)
    out = options.out or options.survey / "out"
    stack, reused = build_layers(
        survey,
        out,
        cell_m=options.cell,
        levels_m=options.level or (),
        progress=progress,
    )
    answer = {
        "river": survey.river.name,
        "layers": str(out / "layers"),
        "levels_m": stack.levels_m,
        "cell_m": stack.grid.cell_m,
        "reused": reused,
        "notes": stack.notes,
        "warnings": [problem.line() for problem in survey.warnings],
    }
    if options.json:
        screen.show_json(answer)
        return DONE
    screen.show(f"{survey.river.name}: layers in {out / 'layers'}")
    screen.show("levels: " + ", ".join(f"{level:.3f} m" for level in stack.levels_m))
    for note in stack.notes:
        screen.show(f"- {note}")
    count = screen.counted(len(survey.warnings), "warning")
    screen.show(f"{count}; see: pegscore check {options.survey}")
    return DONE


def run_rank(options: Namespace) -> int:
    """Put the pegs in order for one or more species."""
    progress = screen.ProgressLines(silent=options.quiet)
    levels = () if options.level is None else (options.level,)
    _check_wishes(options)
    run = open_run(
        options.survey,
        out=options.out,
        cell_m=options.cell,
        levels_m=levels,
        method=options.method,
        progress=progress,
    )
    conditions = Conditions(
        level_m=run.survey.river.gauge.level_m if not levels else levels[0],
        date=options.date,
        water_temp_c=options.water_temp,
        method=options.method,
    )
    names = find_species(run.species, options.species)
    ranking = rank_run(run, names, conditions, progress=progress)
    write_ranking(ranking, run.out)
    if options.json:
        screen.show_json(
            ranking_record(run, names, ranking, conditions, top=options.top)
        )
        return DONE
    for name in names:
        show_ranking(
            run, name, ranking, conditions, top=options.top, units=options.units
        )
        screen.show()
    screen.show(f"Written: {run.out / 'ranking.csv'} and ranking.gpkg")
    return DONE


def _check_wishes(options: Namespace) -> None:
    """Refuse a slip of the pen before the minutes that a survey's layers take."""
    find_method(options.method)
    if options.survey.is_dir():
        find_species(read_species(options.survey), options.species)
    Conditions(level_m=options.level or 0.0, water_temp_c=options.water_temp)


def run_train(options: Namespace) -> int:
    """Fit the ranker on the returns, show the comparison, keep or decline it."""
    from pegscore.training import train_run  # noqa: PLC0415 - loads scikit-learn

    progress = screen.ProgressLines(silent=options.quiet)
    run = open_run(
        options.survey, out=options.out, cell_m=options.cell, progress=progress
    )
    names = find_species(run.species, options.species)
    outcomes = train_run(run, names, progress=progress)
    progress("done")
    if options.json:
        screen.show_json(
            {name: told.as_record(short=True) for name, told in outcomes.items()}
        )
        return DONE
    for told in outcomes.values():
        show_outcome(told, run.species[told.species].title)
    screen.show(f"Written: {run.out / RANKER_FILE}")
    return DONE


def run_map(options: Namespace) -> int:
    """Write the map as one file."""
    progress = screen.ProgressLines(silent=options.quiet)
    find_method(options.method)
    run = open_run(
        options.survey,
        cell_m=options.cell,
        levels_m=options.level or (),
        method=options.method,
        progress=progress,
    )
    page = map_run(run, options.out or run.out / "map.html", progress=progress)
    progress("done")
    if options.json:
        screen.show_json({"map": str(page), "bytes": page.stat().st_size})
    else:
        screen.show(f"Open the map in a browser: {page}")
    return DONE


def run_where(options: Namespace) -> int:
    """Show versions and paths for a bug report."""
    answer = {
        "pegscore": str(Path(pegscore.__file__).parent),
        "layers": str(Path(layers.__file__).parent),
        "versions": versions(),
    }
    if options.json:
        screen.show_json(answer)
        return DONE
    screen.show(f"pegscore at {answer['pegscore']}")
    screen.show(f"layers   at {answer['layers']}")
    for name, number in versions().items():
        screen.show(f"{name:10} {number}")
    return DONE


COMMANDS: Mapping[str, Callable[[Namespace], int]] = {
    "demo": run_demo,
    "check": run_check,
    "build": run_build,
    "rank": run_rank,
    "train": run_train,
    "map": run_map,
    "where": run_where,
}
"""Every command by its name."""
