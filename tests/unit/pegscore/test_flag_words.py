"""What a score leans on stands beside it in words wherever people read it."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from pegscore.answers import SAID_ABOVE, ranking_text
from pegscore.conditions import Conditions
from pegscore.exports.edition import edition_of
from pegscore.flag_words import (
    BEYOND_LEVELS,
    BEYOND_SURVEY,
    flag_lines,
    flags_of,
    unsourced_flag,
)
from pegscore.pages.payload import payload_of
from pegscore.pages.still import still_of
from pegscore.stretch import best_stretches
from pegscore.swim import SwimWishes, swim_sheet
from pegscore.swim_words import sheet_text
from pegscore.workflow import rank_run
from tests.map_world import world
from tests.swim_world import LEVEL_M, make_run

FLAGGED = {"beyond_survey": True, "unsourced": "depth", "extrapolated": True}


def row(**changed) -> dict:
    """A row of a day's answer, without a flag."""
    return {
        "rank": 1,
        "tier": 1,
        "peg": "7",
        "score": 0.5,
        "low": 0.4,
        "high": 0.6,
        "today": 0.5,
        "depth_m": 1.0,
        "speed_m_s": 0.3,
        "limiting": "pace",
        "walk_m": 90.0,
        "walk_basis": "club",
        "step_free": "no",
        "why": "...",
        "gravel_share": 1.0,
        "wet_share": 1.0,
        "suit_depth": 1.0,
        "suit_speed": 0.5,
        "suit_substrate": 1.0,
        **changed,
    }


def test_each_flag_has_its_words_and_a_row_without_a_score_none():
    told = flags_of(row(**FLAGGED))
    assert told == [BEYOND_SURVEY, unsourced_flag("depth"), BEYOND_LEVELS]
    assert flags_of(row(**FLAGGED, score=np.nan)) == []
    blank = dict.fromkeys(FLAGGED, np.nan)
    assert flags_of(row(**blank)) == []
    assert flags_of(row(beyond_survey=False, unsourced="", extrapolated=False)) == []


def test_the_mark_in_the_table_has_a_sentence_with_the_peg_below_it():
    rows = [row(beyond_survey=True), row(peg="9"), row(peg="11", extrapolated=True)]
    marked = [
        line.split()[2]
        for line in ranking_text(gpd.GeoDataFrame(rows), "metric").splitlines()
        if "0.50!" in line
    ]
    (line,) = flag_lines(rows, but=SAID_ABOVE)
    assert marked == ["7"]
    assert line == f"{BEYOND_SURVEY.sentence} Peg 7."


def test_many_pegs_are_counted_and_all_are_called_all():
    rows = [row(peg=str(n), unsourced="pace") for n in range(1, 13)]
    assert flag_lines(rows)[0].endswith("All pegs shown.")
    assert flag_lines([*rows, row()])[0].endswith(
        "Pegs 1, 2, 3, 4, 5, 6, 7, 8 and 4 more."
    )


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """A straight river whose only soundings lie a kilometre away."""
    made = make_run(tmp_path_factory.mktemp("far"))
    far = pd.DataFrame(
        {"easting": [0.0], "northing": [0.0], "level_m": [LEVEL_M], "depth_m": [1.0]}
    )
    object.__setattr__(made.survey, "soundings", far)
    return made


def test_the_sheet_and_a_stretch_say_that_the_water_was_not_sounded(run):
    sheet = swim_sheet(run, "1", level_m=LEVEL_M, wishes=SwimWishes(species="chub"))
    text = " ".join(sheet_text(sheet).split())
    assert f"! {BEYOND_SURVEY.sentence}" in text
    found = best_stretches(run, "chub", Conditions(level_m=LEVEL_M), length_m=20.0)
    assert found["beyond_survey"].all()


def test_files_for_receivers_and_cards_name_it_with_the_score(run):
    ranking = rank_run(run, ["chub"], Conditions(level_m=LEVEL_M))
    best = edition_of(run, ranking, "members").peg("1")["best"]
    assert best.startswith("Chub ")
    assert "; beyond the survey" in best


def test_the_page_holds_the_sentence_for_scored_pegs_with_and_without_script():
    plain = world()
    content = world(
        ranking=plain.ranking.assign(
            beyond_survey=plain.ranking["peg"].isin(["3", "5"])
        )
    )
    data = payload_of(content)
    assert data["scores"]["flags"] == [[BEYOND_SURVEY.tag, BEYOND_SURVEY.sentence]]
    rows = still_of(content, data).split("<tr>")
    told = [line for line in rows if BEYOND_SURVEY.sentence in line]
    # peg 5 must not be fished and has no score to stand beside
    assert len(told) == 3
    assert all("<td>3</td>" in line for line in told)
