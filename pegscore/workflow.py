"""The whole run as a few steps over one survey folder; the only place that joins rooms.

``open_run`` reads the survey, builds or reuses the layers and places the pegs;
``rank_run`` scores them. Both are what the command line calls.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from layers.channel import Channel
from layers.levels import lies_between, stack_at
from layers.pipeline import build, quiet
from layers.stack import SAME_LEVEL_M
from layers.structure import find_structure
from layers.survey import read_survey
from pegscore.cautions import peg_cautions
from pegscore.errors import PegError
from pegscore.kept_layers import keep_layers, kept_layers
from pegscore.levels import level_caution
from pegscore.one_at_a_time import one_at_a_time
from pegscore.pegs import place_pegs
from pegscore.ranker_file import read_rankers
from pegscore.ranking import rank
from pegscore.reach import swims
from pegscore.record import read_record
from pegscore.row_flags import beyond_survey, must_be_sound, unsourced
from pegscore.seasons import allowing
from pegscore.species import read_species
from pegscore.structure import STRUCTURE_COLUMNS, structure_features

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    import geopandas as gpd

    from layers.river import Survey
    from layers.stack import Stack
    from layers.structure import Structure
    from pegscore.cautions import Caution
    from pegscore.conditions import Conditions
    from pegscore.species import Species
    from pegscore.trained import Trained

    Progress = Callable[[str], None]


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
    _structures: dict[float, Structure] = field(default_factory=dict, repr=False)

    def structure(self, level_m: float) -> Structure:
        """Return creases, slacks and the like at a level of the stack, found once."""
        key = round(float(level_m), 3)
        if key not in self._structures:
            self._structures[key] = find_structure(
                self.stack, self.channel, level_m=level_m, places=self.survey.places
            )
        return self._structures[key]


def build_layers(
    survey: Survey,
    out: Path,
    *,
    cell_m: float,
    levels_m: Sequence[float] = (),
    between: bool = False,
    progress: Progress = quiet,
) -> tuple[Stack, bool]:
    """Return the survey's layers at the wanted levels, built or reused.

    Layers are reused when they were made from the very same files (by content)
    with the same cell size and hold every wanted level; otherwise all are made
    again, together with the levels that were there.

    Parameters
    ----------
    survey : Survey
    out : Path
        The results' folder.
    cell_m : float
        The side of a cell, metres.
    levels_m : sequence of float, optional
        Board readings; the river's own when none is given.
    between : bool, default=False
        Whether a level between two that were built may be interpolated instead of
        built, which answers at once. The river's own level is always built: the
        water's outline and ready-made layers belong to it. What is interpolated is
        not written.
    progress : callable, optional

    Returns
    -------
    stack : Stack
    reused : bool
        True if nothing had to be made.
    """
    wanted = tuple(levels_m) or (survey.river.gauge.level_m,)
    with one_at_a_time(out, progress=progress):
        made = read_record(out)
        if made is not None and made.matches(survey, cell_m=cell_m):
            stack = kept_layers(out, made, survey)
            found = None if stack is None else _reused(stack, wanted, survey, between)
            if found is not None:
                progress("layers reused: nothing in the survey has changed")
                return found, True
            wanted = (*wanted, *made.levels_m)
        stack = build(survey, cell_m=cell_m, levels_m=wanted, progress=progress)
        keep_layers(survey, stack, out, progress=progress)
    return stack, False


def open_run(
    folder: Path,
    *,
    out: Path | None = None,
    cell_m: float = 1.0,
    levels_m: Sequence[float] = (),
    method: str = "float",
    date: dt.date | None = None,
    progress: Progress = quiet,
) -> Run:
    """Read a survey folder, build or reuse its layers and place its pegs.

    A level between two that were built is interpolated, and noted so. Seasonal
    no-fishing places bar on ``date`` if it is in their days, without it all year.

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
        survey,
        out,
        cell_m=cell_m,
        levels_m=levels_m,
        between=True,
        progress=progress,
    )
    if survey.pegs is None:
        message = f"{folder.name} has no pegs file; add pegs.csv to rank places"
        raise PegError(message)
    progress("placing the pegs and their swims")
    channel = Channel.fit(survey.centreline, survey.water)
    pegs = place_pegs(survey.pegs, channel, survey.river.crs)
    pegs["swim"] = swims(
        pegs, channel, method=method, places=allowing(survey.places, date)
    )
    cautions = peg_cautions(pegs, survey.places, date=date)
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
    rankers: Mapping[str, Trained] | None = None,
    progress: Progress = quiet,
) -> gpd.GeoDataFrame:
    """Rank the run's pegs for each named species under one set of conditions.

    A ranker in the results folder is used for the species it was accepted for, if it
    was trained on the survey as it is now; ``rankers`` spares reading it again.
    ``extrapolated`` is True at a level outside all that was measured
    (``pegscore.levels``), ``beyond_survey`` where most of a swim is far from every
    sounding, ``unsourced`` names the quantities whose preference curve has no sourced
    point in the swim's range (``pegscore.row_flags``). What lies in reach of
    creases, shelves and slack water (``pegscore.structure``) stands beside the score
    and is not part of it.
    """
    if rankers is None:
        rankers = accepted_rankers(run, progress=progress)
    tables = []
    for name in names:
        progress(f"scoring {run.species[name].title.lower()}")
        table = rank(
            run.stack,
            run.pegs,
            species=run.species[name],
            conditions=conditions,
            ranker=rankers.get(name),
        )
        table["unsourced"] = unsourced(table, run.species[name])
        tables.append(table)
    joined: gpd.GeoDataFrame = pd.concat(tables, ignore_index=True)
    beside = structure_features(
        run.structure(conditions.level_m), run.stack.grid, run.pegs
    )
    for name in STRUCTURE_COLUMNS:
        joined[name] = joined["peg"].map(beside[name])
    must_be_sound(joined, run.pegs, len(names))
    beyond = beyond_survey(run.stack.grid, run.pegs, run.survey.soundings)
    joined["beyond_survey"] = joined["peg"].map(beyond).astype(bool)
    joined["extrapolated"] = bool(level_caution(run.survey, conditions.level_m))
    return joined


def accepted_rankers(run: Run, *, progress: Progress = quiet) -> dict[str, Trained]:
    """Read the rankers that the run may use, by species; say why one may not."""
    rankers, note = read_rankers(run.out, run.survey.hashes)
    if note:
        progress(note)
    return dict(rankers)


def _blocking(cautions: Sequence[Caution]) -> str:
    return "; ".join(caution.text.rstrip(".") for caution in cautions if caution.blocks)


def _reused(
    stack: Stack,
    wanted: Sequence[float],
    survey: Survey,
    between: bool,  # noqa: FBT001 - private, one caller
) -> Stack | None:
    """Return the stack if it holds, or may interpolate, every wanted level."""
    own_m = survey.river.gauge.level_m
    for level_m in wanted:
        may = between and not np.isclose(level_m, own_m, atol=SAME_LEVEL_M)
        if not stack.has_level(level_m) and not (may and lies_between(stack, level_m)):
            return None
    return stack_at(stack, *wanted)
