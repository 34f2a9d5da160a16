"""Runs commands in forked copies of this process and kills them at random moments.

``python killed_runs.py SURVEY KILLS START [COMMAND ...]``: every command has been run
on SURVEY once, and its soundings changed since. Only runs that SIGKILL ended count as
kills: where a run had ended before, another moment is drawn. Prints one JSON object.
Forking spares loading the libraries for every run.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import random
import shutil
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd

from layers.store import read_stack
from pegscore.cli import main

COMMANDS = {
    "build": ["build", "--level", "0.6", "--level", "0.8"],
    "rank": ["rank", "--species", "barbel"],
    "train": ["train", "--species", "barbel"],
    "map": ["map"],
    "export": ["export", "--for", "members"],
}
CELL = ["--cell", "4", "--quiet"]
STAMPED = (".gpkg", "run.json")
"""Files whose bytes tell the time, or the fingerprint of a file that does."""

MOST_DRAWS = 20


@dataclass(frozen=True, kw_only=True)
class Whole:
    """A run that nobody killed: how long it took and the hash of each result."""

    lasts_s: float
    files: dict[str, str]


def contents(folder: Path) -> dict[str, str]:
    """Return every file's hash but for results and what is hidden."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.iterdir())
        if path.is_file()
    }


def started(arguments: list[str]) -> int:
    """Run the command line in a fork of this process; return its number."""
    child = os.fork()
    if child == 0:
        status = 70
        unseen = contextlib.redirect_stdout(io.StringIO())
        with contextlib.suppress(SystemExit), unseen:
            status = main(arguments)
        os._exit(status)
    return child


def finished(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def files_of(out: Path) -> dict[str, str]:
    """Return the hash of every result, by its path; hidden ones are being written."""
    names = [path.relative_to(out) for path in sorted(out.rglob("*")) if path.is_file()]
    return {
        str(name): hashlib.sha256((out / name).read_bytes()).hexdigest()
        for name in names
        if not any(part.startswith(".") for part in name.parts)
    }


def wrong_of(out: Path, old: dict[str, str], new: dict[str, str]) -> list[str]:
    """Return what is wrong with the results that are there.

    Each can be read and has, to the byte, what stood there before or what a run that
    nobody killed writes; nothing that stood there is gone.
    """
    here = files_of(out)
    wrong = [f"{name}: gone" for name in old if name not in here]
    for name, told in here.items():
        if not name.endswith(STAMPED) and told not in (old.get(name), new.get(name)):
            wrong.append(f"{name}: neither the old nor the new one")
        try:
            look_at(out / name)
        except Exception as error:  # noqa: BLE001 - whatever it is, it is told
            wrong.append(f"{name}: {error}")
    return wrong


def look_at(path: Path) -> None:
    if path.suffix == ".json":
        json.loads(path.read_text("utf-8"))
    elif path.suffix in (".gpkg", ".geojson"):
        gpd.read_file(path)
    elif path.suffix == ".csv":
        assert path.read_text("utf-8").endswith("\n")
    elif path.suffix == ".html":
        assert "</html>" in path.read_text("utf-8")[-200:]
    elif path.suffix == ".pdf":
        assert b"%%EOF" in path.read_bytes()[-64:]
    elif path.suffix == ".tif":
        assert path.stat().st_size > 0


def killed_once(good: Path, work: Path, arguments: list[str], moment_s: float) -> bool:
    """Start from the good results, kill the run, say whether it was still running."""
    shutil.rmtree(work, ignore_errors=True)
    shutil.copytree(good, work)
    child = started(arguments)
    time.sleep(moment_s)
    os.kill(child, signal.SIGKILL)
    return finished(child) == -signal.SIGKILL


def one_kill(
    good: Path, name: str, whole: Whole, chance: random.Random
) -> dict[str, object]:
    """Kill one run for certain, look at what it left, and run it again to its end."""
    work = good.parent / "work"
    arguments = arguments_of(name, work)
    before, old = contents(good), files_of(good / "out")
    killed, draws = False, 0
    while not killed and draws < MOST_DRAWS:
        moment_s = chance.uniform(0.0, 1.1) * whole.lasts_s  # files are written last
        killed = killed_once(good, work, arguments, moment_s)
        draws += 1
    wrong = wrong_of(work / "out", old, whole.files)
    again = finished(started(arguments))
    read_stack(work / "out" / "layers")
    wrong += wrong_of(work / "out", old, whole.files)
    now = files_of(work / "out")
    return {
        "command": name,
        "moment_s": moment_s,
        "draws": draws,
        "killed": killed,
        "wrong": wrong,
        "again": again,
        "changed": [k for k, v in contents(work).items() if before.get(k) != v],
        "other": [
            name
            for name, told in whole.files.items()
            if now.get(name) != told and not name.endswith(STAMPED)
        ],
    }


def arguments_of(name: str, folder: Path) -> list[str]:
    command, *rest = COMMANDS[name]
    return [command, str(folder), *rest, *CELL]


def whole_run(survey: Path, name: str) -> Whole:
    """Run a command that nobody kills, from the same results; keep what it leaves."""
    work = survey.parent / "work"
    shutil.rmtree(work, ignore_errors=True)
    shutil.copytree(survey, work)
    start = time.monotonic()
    status = finished(started(arguments_of(name, work)))
    assert status == 0, f"{name} ends with {status}"
    return Whole(lasts_s=time.monotonic() - start, files=files_of(work / "out"))


def run(survey: Path, kills: int, start: int, names: list[str]) -> dict[str, object]:
    chance = random.Random(f"{start} {names}")  # noqa: S311 - moments, no secrets
    whole = {name: whole_run(survey, name) for name in names[:kills]}
    told = []
    for number in range(kills):
        name = names[number % len(names)]
        told.append(one_kill(survey, name, whole[name], chance))
    return {"lasts_s": {n: one.lasts_s for n, one in whole.items()}, "kills": told}


if __name__ == "__main__":
    found = run(
        Path(sys.argv[1]), *map(int, sys.argv[2:4]), sys.argv[4:] or list(COMMANDS)
    )
    sys.stdout.write(json.dumps(found))
