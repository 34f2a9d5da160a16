"""Killed runs, full disks, two runs at once: results stay, inputs too."""

from __future__ import annotations

import hashlib
import json
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from layers.staging import staged, sweep
from layers.store import read_stack
from pegscore.cli import main
from pegscore.record import read_record

HERE = Path(__file__).parent
CELL = ("--cell", "4", "--quiet")


@pytest.fixture(scope="module")
def built(
    tmp_path_factory: pytest.TempPathFactory, write_survey: Callable[..., Path]
) -> Path:
    """The small river, built and ranked, and one sounding corrected since."""
    folder = write_survey(tmp_path_factory.mktemp("lost") / "survey")
    return ranked_and_corrected(folder)


def ranked_and_corrected(folder: Path) -> Path:
    assert main(["rank", str(folder), "--species", "barbel", *CELL]) == 0
    lines = (folder / "soundings.csv").read_text("utf-8").splitlines()
    lines[20] = lines[20].rpartition(",")[0] + ",1.234"
    (folder / "soundings.csv").write_text("\n".join(lines) + "\n", "utf-8")
    return folder


@pytest.fixture
def survey(built: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(built, tmp_path / "survey"))


def contents(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != ".lock"
    }


def killed_runs(folder: Path, kills: int, *names: str) -> list[dict]:
    script = [sys.executable, str(HERE / "killed_runs.py"), str(folder), str(kills)]
    environment = {**os.environ, "PYTHONPATH": str(HERE.parent.parent)}
    done = subprocess.run(
        [*script, "7", *names],
        capture_output=True,
        text=True,
        check=True,
        env=environment,
    )
    return json.loads(done.stdout)["kills"]


def assert_survived(kills: list[dict], wanted: int) -> None:
    assert sum(one["killed"] for one in kills) == wanted, "a run ended before its kill"
    for one in kills:
        assert one["wrong"] == [], one
        assert one["again"] == 0, one
        assert one["changed"] == [], one
        assert one["other"] == [], f"results other than of a run nobody killed: {one}"


@pytest.mark.slow
def test_a_killed_run_leaves_whole_files_and_the_next_one_succeeds(survey: Path):
    assert_survived(killed_runs(survey, 2, "build", "rank"), 2)


@pytest.fixture(scope="module")
def complete(
    tmp_path_factory: pytest.TempPathFactory,
    write_survey: Callable[..., Path],
    write_returns: Callable[[Path], None],
) -> Path:
    """Good results of every command, and one sounding corrected since."""
    folder = write_survey(tmp_path_factory.mktemp("complete") / "survey")
    write_returns(folder)
    for name, *rest in (
        ["build", "--level", "0.6", "--level", "0.8"],
        ["train", "--species", "barbel"],
        ["map"],
        ["export", "--for", "members"],
    ):
        assert main([name, str(folder), *rest, *CELL]) == 0
    return ranked_and_corrected(folder)


@pytest.mark.soak
@pytest.mark.parametrize("name", ["build", "rank", "train", "map", "export"])
def test_fifty_runs_killed_at_random_moments_lose_nothing(complete: Path, name: str):
    """Ten of each command, every one of them truly killed."""
    kills = killed_runs(complete, 10, name)
    for one in kills:
        print(one["command"], one["draws"], f"{one['moment_s']:.2f} s")  # noqa: T201
    assert_survived(kills, 10)


@pytest.mark.slow
@pytest.mark.parametrize("limit", [4_000, 30_000])
def test_a_full_disk_leaves_the_old_results_whole(survey: Path, limit: int):
    before = contents(survey)
    done = subprocess.run(
        [sys.executable, "-m", "pegscore", "build", str(survey), *CELL],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(HERE.parent.parent)},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)),
    )
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stderr
    last = done.stderr.strip().splitlines()[-1]  # libtiff has its own lines before
    assert "incomplete" in last or "cannot be written" in last
    assert contents(survey) == before
    assert main(["build", str(survey), *CELL]) == 0


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 128 kB; only the superuser can make one."""
    home = tmp_path / "disk"
    home.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=128k", "tmpfs", str(home)]
    try:
        subprocess.run(command, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("no disk can be mounted here")
    yield home
    subprocess.run(["umount", str(home)], check=False)


@pytest.mark.slow
def test_a_small_disk_is_told_of_and_left_without_half_files(
    survey: Path, small_disk: Path, capsys: pytest.CaptureFixture[str]
):
    before = contents(survey)
    status = main(["build", str(survey), "-o", str(small_disk / "out"), *CELL])
    said = capsys.readouterr().err
    assert status == 1
    assert "Traceback" not in said
    assert not list(small_disk.rglob("*.tif"))
    assert contents(survey) == before


@pytest.mark.slow
def test_a_folder_that_cannot_be_written_is_told_of(
    survey: Path, small_disk: Path, capsys: pytest.CaptureFixture[str]
):
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    status = main(["build", str(survey), "-o", str(small_disk / "out"), *CELL])
    assert status == 1
    assert "read-only" in capsys.readouterr().err


@pytest.mark.slow
def test_two_runs_at_once_both_end_well(survey: Path):
    command = [sys.executable, "-m", "pegscore", "rank", str(survey)]
    runs = [
        subprocess.Popen(
            [*command, "--species", "chub", *CELL],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(HERE.parent.parent)},
        )
        for _ in range(2)
    ]
    said = [run.communicate()[1] for run in runs]
    assert [run.returncode for run in runs] == [0, 0], said
    made = read_record(survey / "out")
    assert made is not None
    layers = contents(survey / "out" / "layers")
    assert {name: layers[name] for name in made.files} == made.files


@pytest.mark.slow
def test_layers_of_two_builds_are_not_taken_for_one(survey: Path, tmp_path: Path):
    """As a run leaves them that is killed between two replacements."""
    old = Path(shutil.copytree(survey / "out", tmp_path / "old"))
    assert main(["build", str(survey), *CELL]) == 0
    wanted = read_stack(survey / "out" / "layers").layer("bed", level_m=0.6)
    shutil.copy(old / "layers" / "bed.tif", survey / "out" / "layers" / "bed.tif")
    assert main(["build", str(survey), *CELL]) == 0
    found = read_stack(survey / "out" / "layers").layer("bed", level_m=0.6)
    assert found.tobytes() == wanted.tobytes()


def test_files_that_belong_together_are_all_put_in_place_or_none(tmp_path: Path):
    (tmp_path / "a").write_text("old")
    with pytest.raises(ZeroDivisionError), staged(tmp_path) as folder:
        (folder / "a").write_text(f"new {1 / (folder / 'a').exists()}")
    assert [path.name for path in tmp_path.iterdir()] == ["a"]
    assert (tmp_path / "a").read_text() == "old"


def test_what_a_killed_run_left_is_swept_up_once_it_is_old(tmp_path: Path):
    for name in (".bed-ab12cd34.tif", ".layers-ab12cd34", ".notes", "bed.tif"):
        (tmp_path / name).write_text("x")
        os.utime(tmp_path / name, (0, 0))
    (tmp_path / ".map-ab12cd34.html").write_text("being written")
    sweep(tmp_path)
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {".notes", "bed.tif", ".map-ab12cd34.html"}
