"""From a run to the map: every species at every built level, with its cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from layers.pipeline import quiet
from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.conditions import Conditions
from pegscore.levels import level_cautions
from pegscore.pages.map import MapContent, write_map
from pegscore.seasons import season_text
from pegscore.survey_days import survey_date
from pegscore.workflow import rank_run

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import geopandas as gpd

    from pegscore.workflow import Run


def map_run(run: Run, path: Path, *, progress: Callable[[str], None] = quiet) -> Path:
    """Score every species at every built level and write the map as one file."""
    tables = []
    for level_m in run.stack.levels_m:
        progress(f"scoring {len(run.species)} species at level {level_m:.2f} m")
        conditions = Conditions(level_m=level_m)
        tables.append(rank_run(run, list(run.species), conditions))
    progress("drawing the map")
    return write_map(map_content(run, pd.concat(tables, ignore_index=True)), path)


def map_content(run: Run, ranking: gpd.GeoDataFrame) -> MapContent:
    """Return what the members' map shows of a run and its ranking."""
    season = run.survey.river.season
    return MapContent(
        river_name=run.survey.river.name,
        crs=run.survey.river.crs,
        water=run.survey.water,
        centreline=run.survey.centreline,
        pegs=run.pegs,
        ranking=without_returns(ranking),
        species_titles={key: kind.title for key, kind in run.species.items()},
        stack=run.stack,
        survey_date=survey_date(run.survey),
        start_level_m=run.survey.river.gauge.level_m,
        cautions=_member_sentences(run),
        blocked=frozenset(run.pegs.index[run.pegs["blocked"] != ""]),
        general_cautions=GENERAL_CAUTIONS,
        hazards=run.survey.places,
        level_cautions=level_cautions(run.survey, run.stack.levels_m),
        verdicts={key: season_text(kind, season) for key, kind in run.species.items()},
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


def _member_sentences(run: Run) -> dict[str, tuple[str, ...]]:
    return {
        peg: tuple(caution.text for caution in cautions if caution.members)
        for peg, cautions in run.cautions.items()
    }
