"""The whole run as a few steps over one survey folder; the only place that joins rooms.

``open_run`` reads the survey, builds or reuses the layers and places the pegs;
``rank_run`` scores them. Both are what the command line calls.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from layers.channel import Channel
from layers.errors import LayerError
from layers.pipeline import build, quiet
from layers.store import read_stack, write_stack
from layers.survey import read_survey
from pegscore.cautions import peg_cautions
from pegscore.errors import PegError
from pegscore.pegs import place_pegs
from pegscore.ranking import rank
from pegscore.reach import swims
from pegscore.record import Record, read_record, write_record
from pegscore.species import read_species

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    import geopandas as gpd

    from layers.river import Survey
    from layers.stack import Stack
    from pegscore.cautions import Caution
    from pegscore.conditions import Conditions
    from pegscore.species import Species

    Progress = Callable[[str], None]

RANKING_LAYER = "pegs"
"""The layer's name inside ``ranking.gpkg``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A survey, its layers and what stands on its banks."""

    survey: Survey
    channel: Channel
    stack: Stack
    pegs: gpd.GeoDataFrame
    species: Mapping[str, Species]
    cautions: Mapping[str, tuple[Caution, ...]]
    out: Path
    reused: bool


def build_layers(
    survey: Survey,
    out: Path,
    *,
    cell_m: float,
    levels_m: Sequence[float] = (),
    progress: Progress = quiet,
) -> tuple[Stack, bool]:
    """Return the survey's layers at the wanted levels, built or reused.

    Layers are reused when they were made from the very same files (by content)
    with the same cell size and hold every wanted level; otherwise all are made
    again, together with the levels that were there.

    Returns
    -------
    stack : Stack
    reused : bool
        True if nothing had to be made.
    """
    wanted = tuple(levels_m) or (survey.river.gauge.level_m,)
    made = read_record(out)
    same = made is not None and made.matches(survey, cell_m=cell_m)
    if made is not None and same:
        stack = _reread(out, made)
        if stack is not None and all(stack.has_level(level) for level in wanted):
            progress("layers reused: nothing in the survey has changed")
            return stack, True
        wanted = (*wanted, *made.levels_m)
    stack = build(survey, cell_m=cell_m, levels_m=wanted, progress=progress)
    progress("writing the layers")
    write_stack(stack, out / "layers")
    write_record(out, Record.of(survey, stack))
    return stack, False


def open_run(
    folder: Path,
    *,
    out: Path | None = None,
    cell_m: float = 1.0,
    levels_m: Sequence[float] = (),
    method: str = "float",
    progress: Progress = quiet,
) -> Run:
    """Read a survey folder, build or reuse its layers and place its pegs.

    Raises
    ------
    SurveyRefused
        With every problem of the folder.
    PegError
        If the survey has no pegs.
    """
    progress("reading the survey")
    survey = read_survey(folder)
    out = out or folder / "out"
    stack, reused = build_layers(
        survey, out, cell_m=cell_m, levels_m=levels_m, progress=progress
    )
    if survey.pegs is None:
        message = f"{folder.name} has no pegs file; add pegs.csv to rank places"
        raise PegError(message)
    progress("placing the pegs and their swims")
    channel = Channel.fit(survey.centreline, survey.water)
    pegs = place_pegs(survey.pegs, channel, survey.river.crs)
    pegs["swim"] = swims(pegs, channel, method=method, places=survey.places)
    cautions = peg_cautions(pegs, survey.places)
    pegs["blocked"] = [_blocking(cautions.get(peg, ())) for peg in pegs.index]
    return Run(
        survey=survey,
        channel=channel,
        stack=stack,
        pegs=pegs,
        species=read_species(folder),
        cautions=cautions,
        out=out,
        reused=reused,
    )


def rank_run(
    run: Run,
    names: Sequence[str],
    conditions: Conditions,
    *,
    progress: Progress = quiet,
) -> gpd.GeoDataFrame:
    """Rank the run's pegs for each named species under one set of conditions."""
    tables = []
    for name in names:
        progress(f"scoring {run.species[name].title.lower()}")
        tables.append(
            rank(run.stack, run.pegs, species=run.species[name], conditions=conditions)
        )
    joined: gpd.GeoDataFrame = pd.concat(tables, ignore_index=True)
    return joined


def _blocking(cautions: Sequence[Caution]) -> str:
    return "; ".join(caution.text.rstrip(".") for caution in cautions if caution.blocks)


def _reread(out: Path, made: Record) -> Stack | None:
    """Read the layers of an earlier run, or None if they are gone or damaged."""
    try:
        return read_stack(out / "layers", notes=made.notes)
    except (LayerError, OSError):
        return None
