"""The shell over the rooms: exit codes, single lines, help."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from pegscore.cli import main

COMMANDS = ["demo", "check", "build", "rank", "map", "where"]


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_a_worked_example(command, capsys):
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"])
    assert ended.value.code == 0
    assert f"example: pegscore {command}" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "required"),
        (["dance"], "dance"),
        (["rank", "somewhere"], "--species"),
        (["rank", "x", "--species", "chub", "--top", "0"], "'0' is not a count"),
        (["rank", "x", "--species", "chub", "--date", "May"], "'May' is not a date"),
        (["build", "x", "--cell", "wide"], "wide"),
    ],
)
def test_misuse_is_one_line_and_status_two(arguments, said, capsys):
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    error = capsys.readouterr().err
    assert ended.value.code == 2
    assert said in error
    assert len(error.splitlines()) == 1


def test_a_folder_that_is_not_there_is_refused_in_one_line(tmp_path, capsys):
    assert main(["check", str(tmp_path / "nowhere")]) == 1
    error = capsys.readouterr().err
    assert "nowhere" in error
    assert "Traceback" not in error


@pytest.mark.slow
def test_a_good_survey_passes_the_check_and_says_what_is_absent(
    tmp_path, write_survey, capsys
):
    assert main(["check", str(write_survey(tmp_path / "river"))]) == 0
    shown = capsys.readouterr().out
    assert "absent" in shown
    assert "places" in shown


@pytest.mark.slow
def test_check_tells_machines_every_problem(tmp_path, write_survey, capsys):
    folder = write_survey(tmp_path / "river")
    text = (folder / "bed.csv").read_text("utf-8").replace("gravel", "custard", 1)
    (folder / "bed.csv").write_text(text, encoding="utf-8")
    assert main(["check", str(folder), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert not told["ok"]
    assert [p["value"] for p in told["problems"] if p["refused"]] == ["custard"]


@pytest.mark.slow
def test_a_refused_survey_stops_every_command_with_a_line_a_problem(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    (folder / "soundings.csv").write_text("x,y\n", encoding="utf-8")
    for command in (["build"], ["rank", "--species", "chub"], ["map"]):
        assert main([command[0], str(folder), "--quiet", *command[1:]]) == 1
        lines = capsys.readouterr().err.splitlines()
        assert lines
        assert all("soundings.csv" in line for line in lines)


@pytest.mark.slow
def test_an_unknown_species_is_refused_with_the_nearest(tmp_path, write_survey, capsys):
    folder = write_survey(tmp_path / "river")
    arguments = ["rank", str(folder), "--species", "barble", "--cell", "4", "--quiet"]
    assert main(arguments) == 1
    assert "did you mean 'barbel'" in capsys.readouterr().err


@pytest.mark.slow
def test_an_unknown_method_is_refused_with_those_there_are(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    arguments = ["rank", str(folder), "--species", "chub", "--method", "dynamite"]
    assert main([*arguments, "--cell", "4", "--quiet"]) == 1
    error = capsys.readouterr().err
    assert "dynamite" in error
    assert "ledger" in error


def test_where_tells_versions_and_paths_in_a_new_process():
    done = subprocess.run(
        [sys.executable, "-m", "pegscore", "where", "--json"],
        capture_output=True,
        text=True,
        check=True,
    )
    told = json.loads(done.stdout)
    assert set(told) == {"pegscore", "layers", "versions"}
