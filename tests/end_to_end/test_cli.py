"""The shell over the rooms: exit codes, single lines, help."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from pegscore.cli import main
from pegscore.commands import build

COMMANDS = ["demo", "check", "build", "rank", "map", "swim", "where"]


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


@pytest.mark.slow
def test_a_refusal_reaches_machines_as_json_and_people_as_lines(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    (folder / "soundings.csv").write_text("x,y\n", encoding="utf-8")
    for command in (["build"], ["rank", "--species", "chub"], ["map"]):
        arguments = [command[0], str(folder), "--quiet", "--json", *command[1:]]
        assert main(arguments) == 1
        shown = capsys.readouterr()
        told = json.loads(shown.out)
        assert told["ok"] is False
        assert {problem["file"] for problem in told["problems"]} == {"soundings.csv"}
        assert len(shown.err.splitlines()) == len(told["problems"])


def test_a_slip_in_the_species_is_told_before_any_layer_is_made(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    assert main(["rank", str(folder), "--species", "roahc", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert "did you mean 'roach'" in told["problems"][0]["what"]
    assert not (folder / "out").exists()


@pytest.mark.parametrize(
    ("failure", "status", "said"),
    [
        (KeyboardInterrupt(), 130, "stopped"),
        (MemoryError(), 1, "larger --cell"),
        (PermissionError(13, "Permission denied", "out/run.json"), 1, "out/run.json"),
    ],
)
def test_what_stops_a_run_from_outside_ends_in_one_line(
    failure, status, said, monkeypatch, capsys
):
    def stopped(_options):
        raise failure

    monkeypatch.setattr(build, "run", stopped)
    assert main(["build", "anywhere"]) == status
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert said in lines[0]


def test_a_file_in_place_of_a_folder_is_called_a_file(tmp_path, capsys):
    file = tmp_path / "river.toml"
    file.write_text("", encoding="utf-8")
    assert main(["check", str(file)]) == 1
    assert "a file, not a folder" in capsys.readouterr().err


def test_the_demo_never_overwrites_a_club_s_own_survey(tmp_path, capsys):
    own = tmp_path / "soundings.csv"
    own.write_text("x,y,depth_m\n1,2,3\n", encoding="utf-8")
    assert main(["demo", str(tmp_path), "--quiet"]) == 1
    assert "'soundings.csv', which is not the demo's" in capsys.readouterr().err
    assert own.read_text("utf-8") == "x,y,depth_m\n1,2,3\n"
    assert [path.name for path in tmp_path.iterdir()] == ["soundings.csv"]


@pytest.mark.slow
def test_results_that_cannot_be_written_name_the_place_people_know(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    out = tmp_path / "taken"
    out.write_text("", encoding="utf-8")
    arguments = ["build", str(folder), "--cell", "4", "--quiet"]
    assert main([*arguments, "-o", str(out)]) == 1
    assert main(["map", str(folder), "--cell", "4", "--quiet", "-o", str(folder)]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith(str(out))
    assert lines[1].startswith(f"{folder}: is a directory")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("damage", "name"),
    [("lost", "substrate"), ("cut", "speed"), ("strange record", "bed")],
)
def test_damaged_layers_of_an_earlier_run_are_made_again(
    damage, name, tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    command = ["build", str(folder), "--cell", "6", "--quiet", "--json"]
    assert main(command) == 0
    capsys.readouterr()
    layer = folder / "out" / "layers" / f"{name}.tif"
    whole = layer.read_bytes()
    if damage == "lost":
        layer.unlink()
    elif damage == "cut":
        layer.write_bytes(whole[:300])
    else:
        (folder / "out" / "run.json").write_text("[1, 2]", encoding="utf-8")
    assert main(command) == 0
    assert json.loads(capsys.readouterr().out)["reused"] is False
    assert layer.read_bytes() == whole


@pytest.mark.slow
@pytest.mark.parametrize(("level", "side"), [("3", "above"), ("0.1", "below")])
def test_a_level_outside_all_that_was_measured_is_said(
    level, side, tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    arguments = ["rank", str(folder), "--species", "chub", "--cell", "6", "--quiet"]
    assert main([*arguments, "--level", level]) == 0
    assert f"{side} every level measured here" in capsys.readouterr().out
    assert main(arguments) == 0
    assert "every level measured here" not in capsys.readouterr().out


@pytest.mark.slow
def test_a_swim_is_told_to_people_and_to_machines(tmp_path, write_survey, capsys):
    folder = write_survey(tmp_path / "river")
    asked = ["swim", str(folder), "3", "--cell", "2", "--quiet"]
    assert main([*asked, "--bait", "maggot,crust", "--bait", "sweetcron"]) == 1
    assert "did you mean 'sweetcorn'" in capsys.readouterr().err
    assert main([*asked, "--bait", "maggot,crust", "--throw", "-1"]) == 0
    told = capsys.readouterr().out
    assert "Loose feed thrown in on the run line 1.0 m up, water taken at 15 °C" in told
    assert "goes with the surface" in told
    assert main([*asked, "--json", "--out-m", "3", "--pdf"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["pdf"] == str(folder / "out" / "swim-3.pdf")
    assert (folder / "out" / "swim-3.pdf").read_bytes().startswith(b"%PDF")
    assert answer["peg"] == "3"
    assert answer["distance_out_m"] == 3.0
    assert main([*asked[:2], "303", *asked[3:]]) == 1
    error = capsys.readouterr().err
    assert "there is no peg '303'" in error
    assert len(error.splitlines()) == 1
