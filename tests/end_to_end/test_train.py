"""``train`` and then ``rank`` on the demo's returns, through the command line."""

from __future__ import annotations

import json
import math

import pandas as pd
import pytest

from pegscore.cli import main

SPECIES = "barbel"


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("club") / "river"
    assert main(["demo", str(folder), "--quiet"]) == 0
    before = pd.read_csv(folder / "out" / "ranking.csv", dtype={"peg": str})
    train = ["train", str(folder), "--species", f"{SPECIES},pike", "--quiet"]
    assert main(train) == 0
    return folder, before


def told(folder):
    return json.loads((folder / "out" / "ranker.json").read_text(encoding="utf-8"))


@pytest.mark.slow
def test_the_file_says_what_was_fitted_on_what_and_how_it_was_judged(demo):
    folder, _ = demo
    species = told(folder)["species"][SPECIES]
    assert told(folder)["inputs"]["returns.csv"]
    joint = "new pegs, other seasons"  # the demo has stretches and seasons enough
    assert set(species["tests"]) == {"new pegs", "fished pegs", joint}
    rules = species["tests"]["fished pegs"]["rules"]
    assert {"preferences", "trained", "catch per hour", "boosted trees"} <= set(rules)
    assert rules["preferences"]["gain"] == 0.0


@pytest.mark.slow
def test_no_angler_of_the_returns_is_named_in_the_file(demo):
    folder, _ = demo
    anglers = pd.read_csv(folder / "returns.csv")["angler"].dropna().unique()
    text = (folder / "out" / "ranker.json").read_text(encoding="utf-8")
    assert not [angler for angler in anglers if f'"{angler.lower()}"' in text.lower()]


@pytest.mark.slow
def test_rank_says_of_every_peg_what_its_score_rests_on(demo, capsys):
    folder, before = demo
    accepted = told(folder)["species"][SPECIES]["accepted"]
    capsys.readouterr()
    assert main(["rank", str(folder), "--species", SPECIES, "--json", "--quiet"]) == 0
    pegs = json.loads(capsys.readouterr().out)["species"][SPECIES]["pegs"]
    bases = {row["basis"] for row in pegs}
    assert ("ranker" in bases) == accepted
    scores = [row["score"] for row in pegs if row["score"] is not None]
    assert scores == sorted(scores, reverse=True)
    for row in pegs:
        if row["score"] is not None:
            assert 0 <= row["low"] <= row["score"] <= row["high"] <= 1
    unscored = {row["peg"] for row in pegs if row["score"] is None}
    here = before[before.species == SPECIES]
    assert unscored == set(here.loc[here["score"].isna(), "peg"])


@pytest.mark.slow
def test_a_species_of_too_few_returns_keeps_its_preferences(demo, capsys):
    folder, before = demo
    told_pike = told(folder)["species"]["pike"]
    if told_pike["accepted"]:
        pytest.fail("the demo's pike returns were thought too few to learn from")
    capsys.readouterr()
    assert main(["rank", str(folder), "--species", "pike", "--json", "--quiet"]) == 0
    pegs = json.loads(capsys.readouterr().out)["species"]["pike"]["pegs"]
    then = before[before.species == "pike"].set_index("peg")["score"]
    for row in pegs:
        assert row["basis"] == "preference"
        if row["score"] is not None:
            assert math.isclose(row["score"], then[row["peg"]], abs_tol=6e-5)


@pytest.mark.slow
def test_a_ranker_of_other_returns_is_left_aside(demo, capsys):
    folder, _ = demo
    returns = folder / "returns.csv"
    text = returns.read_text(encoding="utf-8")
    returns.write_text(text + "\n", encoding="utf-8")
    try:
        capsys.readouterr()
        assert main(["rank", str(folder), "--species", SPECIES, "--json"]) == 0
        shown = capsys.readouterr()
    finally:
        returns.write_text(text, encoding="utf-8")
    pegs = json.loads(shown.out)["species"][SPECIES]["pegs"]
    assert {row["basis"] for row in pegs} == {"preference"}
    assert "train again" in shown.err


def test_a_survey_without_returns_is_refused_in_one_line(demo, capsys, tmp_path):
    folder, _ = demo
    (folder / "returns.csv").rename(tmp_path / "returns.csv")
    try:
        assert main(["train", str(folder), "--quiet"]) == 1
    finally:
        (tmp_path / "returns.csv").rename(folder / "returns.csv")
    assert "returns" in capsys.readouterr().err
