"""Read and check a survey folder: every problem of every file, at once."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from layers.bed_file import read_bed
from layers.channel_file import ChannelRead, read_channel
from layers.checks import check_direction, check_gauge
from layers.flows_file import read_flows
from layers.folder import TABLE_STEMS, Folder, find_files
from layers.pegs_file import read_pegs
from layers.placement import Stretch
from layers.places_file import read_place_points, read_place_shapes
from layers.plausible import warn_of_breaks
from layers.problems import Problem, ProblemList
from layers.ready_rasters import check_rasters
from layers.returns_file import read_returns
from layers.river import Survey
from layers.river_file import RiverRead, read_river
from layers.shapes import points_table, read_shapes
from layers.sheet import Sheet
from layers.soundings_file import read_soundings
from layers.speeds_file import read_speeds
from layers.tables import SUFFIXES as TABLE_SUFFIXES
from layers.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import geopandas as gpd
    import pandas as pd

MOST_LINES = 20
"""Problems of one code and file that are listed; the rest are counted."""


def read_survey(path: Path | str) -> Survey:
    """Read a survey folder.

    Parameters
    ----------
    path : Path or str
        The folder that holds ``river.toml``.

    Returns
    -------
    Survey
        Typed tables in the survey's CRS and SI units, with what was warned of
        and what the absent files switch off.

    Raises
    ------
    SurveyRefused
        With every refusal of every file.
    """
    problems, survey = check_survey(path)
    problems.stop_if_refused()
    if survey is None:
        message = f"{path} gave neither a survey nor a reason"
        raise RuntimeError(message)
    return survey


def check_survey(path: Path | str) -> tuple[ProblemList, Survey | None]:
    """Examine a survey folder and say all that is wrong with it.

    Returns
    -------
    problems : ProblemList
        Refusals and warnings of every file; of one kind in one file the first
        ``MOST_LINES`` and then how many more there are.
    survey : Survey or None
        None if anything was refused.
    """
    problems = ProblemList()
    folder = find_files(Path(path), problems)
    parts = _read_parts(folder, problems)
    shortened = ProblemList(shorten(problems.found))
    return shortened, _joined(folder, parts, shortened)


@dataclass(slots=True)
class _Parts:
    """What was read so far."""

    stretch: Stretch = field(default_factory=Stretch)
    tables: dict[str, pd.DataFrame | None] = field(default_factory=dict)
    places: gpd.GeoDataFrame | None = None


def _read_parts(folder: Folder, problems: ProblemList) -> _Parts:
    for path in (*folder.files.values(), *folder.rasters.values()):
        folder.note_hash(path)
    parts = _Parts(stretch=_read_stretch(folder, problems))
    for stem in TABLE_STEMS:
        sheet = _sheet(stem, folder, parts.stretch, problems)
        parts.tables[stem] = None if sheet is None else _read_sheet(sheet, parts)
    parts.places = _read_places(folder, parts.stretch, problems)
    if "channel" in folder.files:
        names = {stem: path.name for stem, path in folder.files.items()}
        check_direction(parts.tables, parts.stretch, names, problems)
    check_gauge(parts.stretch, problems)
    check_rasters(folder.rasters, parts.stretch, problems)
    return parts


def _read_stretch(folder: Folder, problems: ProblemList) -> Stretch:
    river, crs = RiverRead(None, None)
    if "river" in folder.files:
        river, crs = read_river(folder.files["river"], problems)
    centreline, water = ChannelRead(None, None)
    if "channel" in folder.files:
        centreline, water = read_channel(folder.files["channel"], crs, problems)
    return Stretch(crs=crs, river=river, centreline=centreline, water=water)


def _sheet(
    stem: str, folder: Folder, stretch: Stretch, problems: ProblemList
) -> Sheet | None:
    path = folder.files.get(stem)
    if path is None:
        return None
    if path.suffix.lower() in TABLE_SUFFIXES:
        table = read_table(path, problems)
    else:
        shapes = read_shapes(path, problems)
        table = (
            None
            if shapes is None
            else points_table(shapes, path.name, stretch.crs, problems)
        )
    if table is None:
        return None
    sheet = Sheet(stem, path.name, table, problems)
    warn_of_breaks(sheet)
    return sheet


def _read_sheet(sheet: Sheet, parts: _Parts) -> pd.DataFrame | None:
    stretch = parts.stretch
    readers: dict[str, Callable[[], pd.DataFrame | None]] = {
        "soundings": lambda: read_soundings(sheet, stretch),
        "bed": lambda: read_bed(sheet, stretch),
        "speeds": lambda: read_speeds(sheet, stretch),
        "flows": lambda: read_flows(sheet, stretch),
        "pegs": lambda: read_pegs(sheet, stretch),
        "returns": lambda: read_returns(sheet, parts.tables["pegs"]),
    }
    return readers[sheet.stem]()


def _read_places(
    folder: Folder, stretch: Stretch, problems: ProblemList
) -> gpd.GeoDataFrame | None:
    path = folder.files.get("places")
    if path is None:
        return None
    if path.suffix.lower() in TABLE_SUFFIXES:
        sheet = _sheet("places", folder, stretch, problems)
        return None if sheet is None else read_place_points(sheet, stretch)
    shapes = read_shapes(path, problems)
    if shapes is None:
        return None
    return read_place_shapes(shapes, path.name, stretch, problems)


def _joined(folder: Folder, parts: _Parts, problems: ProblemList) -> Survey | None:
    stretch = parts.stretch
    if (
        problems.refusals
        or stretch.river is None
        or stretch.centreline is None
        or stretch.water is None
    ):
        return None
    return Survey(
        folder=folder.path,
        river=stretch.river,
        centreline=stretch.centreline,
        water=stretch.water,
        **parts.tables,
        places=parts.places,
        rasters=folder.rasters,
        warnings=tuple(problems.warnings),
        absent=folder.absent(),
        hashes=folder.hashes,
    )


def shorten(found: Sequence[Problem]) -> list[Problem]:
    """Keep the first ``MOST_LINES`` of each code and file, and count the rest.

    Examples
    --------
    >>> many = [Problem(code="a", file="f", what="w", way_out="o", row=row)
    ...         for row in range(25)]
    >>> short = shorten(many)
    >>> len(short), short[-1].what
    (21, 'and 5 more of this kind (25 in all): w')
    """
    counts = Counter((problem.code, problem.file) for problem in found)
    kept: list[Problem] = []
    seen: Counter[tuple[str, str]] = Counter()
    for problem in found:
        key = (problem.code, problem.file)
        seen[key] += 1
        if seen[key] <= MOST_LINES:
            kept.append(problem)
        elif seen[key] == counts[key]:
            more = counts[key] - MOST_LINES
            what = f"and {more} more of this kind ({counts[key]} in all)"
            kept.append(_counted(problem, f"{what}: {problem.what}"))
    return kept


def _counted(problem: Problem, what: str) -> Problem:
    return replace(problem, what=what, row=None, value=None)
