"""From a run to the map: every species at every built level, with its cautions."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd

from layers.pipeline import quiet
from pegscore.board import board_of
from pegscore.catch_words import catch_sentences
from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.conditions import Conditions
from pegscore.levels import level_cautions
from pegscore.pages.content import MapContent
from pegscore.pages.map import write_map
from pegscore.run_visits import run_visits
from pegscore.seasons import season_text
from pegscore.survey_days import survey_date
from pegscore.swim import SwimWishes, panel_record, swim_sheet
from pegscore.workflow import accepted_rankers, rank_run

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import geopandas as gpd

    from pegscore.pages.tiles import Tiles
    from pegscore.workflow import Run

Edition = Literal["members", "committee"]


def map_run(
    run: Run,
    path: Path,
    *,
    edition: Edition = "members",
    ranked: gpd.GeoDataFrame | None = None,
    method: str = "float",
    tiles: Tiles | None = None,
    progress: Callable[[str], None] = quiet,
) -> Path:
    """Score every species at every built level and write the map as one file.

    ``ranked`` is a ranking of every species at some of the levels that the caller
    has already made, under no conditions but the level; it is not made again.
    ``method`` is how the run's swims are fished, ``tiles`` a background from the
    network.
    """
    ranking = rank_levels(run, ranked=ranked, progress=progress)
    progress("drawing the map, with each peg's run line")
    content = map_content(run, ranking, edition=edition, method=method)
    return write_map(replace(content, tiles=tiles), path)


def rank_levels(
    run: Run,
    *,
    ranked: gpd.GeoDataFrame | None = None,
    progress: Callable[[str], None] = quiet,
) -> gpd.GeoDataFrame:
    """Score every species at every built level that ``ranked`` does not hold yet."""
    tables = [] if ranked is None else [ranked]
    made = () if ranked is None else set(ranked["level_m"].round(3))
    rankers = accepted_rankers(run, progress=progress)
    for level_m in (m for m in run.stack.levels_m if round(m, 3) not in made):
        progress(f"scoring {len(run.species)} species at level {level_m:.2f} m")
        conditions = Conditions(level_m=level_m)
        names = list(run.species)
        tables.append(rank_run(run, names, conditions, rankers=rankers))
    ranking: gpd.GeoDataFrame = pd.concat(tables, ignore_index=True)
    return ranking


def map_content(
    run: Run,
    ranking: gpd.GeoDataFrame,
    *,
    edition: Edition = "members",
    method: str = "float",
) -> MapContent:
    """Return what one edition of the map shows of a run and its ranking."""
    season = run.survey.river.season
    members = edition == "members"
    return MapContent(
        river_name=run.survey.river.name,
        crs=run.survey.river.crs,
        water=run.survey.water,
        centreline=run.survey.centreline,
        pegs=run.pegs,
        ranking=without_returns(ranking) if members else ranking,
        species_titles={key: kind.title for key, kind in run.species.items()},
        stack=run.stack,
        survey_date=survey_date(run.survey),
        start_level_m=run.survey.river.gauge.level_m,
        cautions=_sentences(run, members=members),
        blocked=frozenset(run.pegs.index[run.pegs["blocked"] != ""]),
        general_cautions=GENERAL_CAUTIONS,
        hazards=run.survey.places,
        level_cautions=level_cautions(run.survey, run.stack.levels_m),
        verdicts={key: season_text(kind, season) for key, kind in run.species.items()},
        structures={m: run.structure(m) for m in run.stack.levels_m},
        runs={m: _run_lines(run, m, method) for m in run.stack.levels_m},
        returns={} if members else _catches(run),
        board=None if members else board_of(run, method=method),
        edition=edition,
    )


def without_returns(ranking: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Take what the club's returns say of single pegs out of the reasons.

    The order stays; the sentence about a peg's record is the committee's.
    """
    why = [
        text.removesuffix(told).strip() if told else text
        for text, told in zip(ranking["why"], ranking["returns"], strict=True)
    ]
    members: gpd.GeoDataFrame = ranking.drop(columns="returns").assign(why=why)
    return members


def _sentences(run: Run, *, members: bool) -> dict[str, tuple[str, ...]]:
    """Return the cautions by peg; members are not told of spawning places."""
    return {
        peg: tuple(c.text for c in cautions if c.members or not members)
        for peg, cautions in run.cautions.items()
    }


def _run_lines(run: Run, level_m: float, method: str) -> dict[str, dict[str, Any]]:
    """Return what the map's panel tells of each peg that may be fished."""
    fished = run.pegs.index[run.pegs["open"].astype(bool) & (run.pegs["blocked"] == "")]
    wishes = SwimWishes(method=method)
    return {
        peg: panel_record(swim_sheet(run, peg, level_m=level_m, wishes=wishes))
        for peg in map(str, fished)
    }


def _catches(run: Run) -> dict[str, tuple[str, ...]]:
    if run.survey.returns is None:
        return {}
    visits = run_visits(run)
    titles = {key: kind.title for key, kind in run.species.items()}
    return catch_sentences(visits, titles)
