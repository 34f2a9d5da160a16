"""The same river written otherwise is ranked the same.

Tolerances: a turned or shifted river falls on other cells, so a swim's score may
move by the share of its area in cells cut by its edge (2 m cells, swims of about
17 x 7 m): 0.03 bounds it. Where the cells stay the same, so must the scores.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import spearmanr

from pegscore.conditions import Conditions
from pegscore.workflow import open_run, rank_run

pytestmark = pytest.mark.slow

CELLS_MOVED, CELLS_KEPT = 0.05, 1e-3
SPECIES = ["barbel", "chub", "roach"]


def ranked(folder: Path) -> pd.DataFrame:
    run = open_run(folder, cell_m=2.0)
    conditions = Conditions(level_m=run.survey.river.gauge.level_m)
    return rank_run(run, SPECIES, conditions).set_index(["species", "peg"])


@pytest.fixture(scope="module")
def plain(tmp_path_factory, write_survey) -> pd.DataFrame:
    return ranked(write_survey(tmp_path_factory.mktemp("plain")))


def assert_same_ranking(found: pd.DataFrame, wanted: pd.DataFrame, atol: float):
    found = found.reindex(wanted.index)
    np.testing.assert_allclose(found["score"], wanted["score"], rtol=0, atol=atol)
    for name in SPECIES:
        agreement = spearmanr(found.loc[name, "score"], wanted.loc[name, "score"])
        assert agreement.statistic > 0.98


@pytest.mark.parametrize(
    ("changes", "atol"),
    [
        ({"turned_deg": 37.0}, CELLS_MOVED),
        ({"turned_deg": 180.0}, CELLS_MOVED),
        ({"shifted_m": (1000.0, -2000.0)}, CELLS_KEPT),
        ({"shifted_m": (123.4, 56.7)}, CELLS_MOVED),
        ({"reversed_rows": True}, CELLS_KEPT),
        ({"feet": True}, CELLS_KEPT),
        ({"lonlat": True}, CELLS_KEPT),
    ],
    ids=["turned", "upside-down", "shifted", "off-grid", "reversed", "feet", "degrees"],
)
def test_the_same_river_written_otherwise_ranks_the_same(
    changes, atol, plain, tmp_path, write_survey, writing
):
    found = ranked(write_survey(tmp_path / "other", writing(**changes)))
    assert_same_ranking(found, plain, atol)


def test_a_mirrored_river_swaps_the_banks_and_keeps_the_ranking(
    plain, tmp_path, write_survey, writing
):
    folder = write_survey(tmp_path / "mirror", writing(mirrored=True))
    assert_same_ranking(ranked(folder), plain, CELLS_MOVED)
    banks = open_run(folder, cell_m=2.0).pegs["bank"]
    straight = write_survey(tmp_path / "straight")
    other = open_run(straight, cell_m=2.0).pegs["bank"]
    assert (banks != other).all()
    assert set(banks) == {"left", "right"}
