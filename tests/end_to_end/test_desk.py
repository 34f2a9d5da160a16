"""The committee's commands on the small river, as they are typed."""

from __future__ import annotations

import json
import shutil

import pytest

from pegscore.cli import main


@pytest.fixture(scope="module")
def river(tmp_path_factory, write_survey, writing):
    return write_survey(tmp_path_factory.mktemp("desk") / "river", writing())


@pytest.mark.slow
def test_a_plan_is_written_checked_and_spoilt(river, capsys):
    asked = ["layout", str(river), "--spacing", "20", "--species", "chub", "--quiet"]
    assert main([*asked, "--pegs", "10", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (len(told["pegs"]), told["gap"]) == (10, 0.0)
    drawn = river / "out" / "layout.geojson"
    assert main([*asked, "--from", str(drawn)]) == 0
    assert "Every rule holds" in capsys.readouterr().out
    spoilt = json.loads(drawn.read_text("utf-8"))
    first, second = spoilt["features"][:2]
    second["geometry"]["coordinates"] = first["geometry"]["coordinates"]
    other = river / "out" / "spoilt.geojson"
    other.write_text(json.dumps(spoilt), "utf-8")
    assert main([*asked, "--from", str(other)]) == 1
    assert "0.00 m apart, nearer than 20 m" in capsys.readouterr().err


def test_a_plan_without_numbers_is_misuse(river, capsys):
    assert main(["layout", str(river)]) == 2
    assert "give --pegs and --spacing" in capsys.readouterr().err


def test_a_smaller_clearance_is_refused_with_the_advice(river, capsys):
    asked = ["layout", str(river), "--pegs", "3", "--spacing", "9", "--clearance", "10"]
    assert main(asked) == 1
    assert (
        "30 m that the Energy Networks Association advises" in capsys.readouterr().err
    )


def test_stretches_and_a_what_if_are_answered(river, capsys):
    asked = [str(river), "--species", "chub", "--quiet"]
    assert main(["stretch", *asked, "--length", "40", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["species"]["chub"]["stretches"]) >= 1
    assert main(["whatif", *asked]) == 1
    assert "nothing to change" in capsys.readouterr().err
    scenario = river / "plan.toml"
    area = '[[edit]]\narea = "pool.geojson"\nbottom = { gravel = 1.0 }\n'
    scenario.write_text(area)
    shutil.copy(river / "channel.geojson", river / "pool.geojson")
    assert main(["whatif", str(river), str(scenario), *asked[1:]]) == 0
    assert "need consent" in capsys.readouterr().out


def test_a_what_if_takes_no_words_for_numbers_and_asks_no_network(river, capsys):
    plan = river / "slip.toml"
    asked = ["whatif", str(river), str(plan), "--species", "chub", "--quiet"]
    plan.write_text('[[edit]]\narea = "pool"\nbottom = { gravel = "much" }\n')
    assert main(asked) == 1
    assert "holds no proper [[edit]]" in capsys.readouterr().err
    plan.write_text('[[edit]]\narea = "/vsicurl/https://a.invalid/b"\nbed_m = 0.1\n')
    assert main(asked) == 1
    told = capsys.readouterr().err
    assert "neither a place's name nor a file" in told
    assert len(told.splitlines()) == 1


def test_a_level_that_cannot_be_meant_is_refused_at_once(river, capsys):
    assert main(["build", str(river), "--level", "60", "--quiet"]) == 1
    assert "more than 20 m from the river's own" in capsys.readouterr().err
