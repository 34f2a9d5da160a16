"""Runs commands in forked copies of this process and kills them at random moments.

``python killed_runs.py SURVEY KILLS SEED``: SURVEY has been built and ranked once, and
its soundings changed since. Prints one JSON object. Forking spares loading the
libraries for every run.
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
from pathlib import Path

import geopandas as gpd

from layers.store import read_stack
from pegscore.cli import main

COMMANDS = {
    "build": ["build", "--level", "0.6", "--level", "0.8"],
    "rank": ["rank", "--species", "barbel"],
    "map": ["map"],
    "export": ["export", "--for", "members"],
}
CELL = ["--cell", "4", "--quiet"]
SOUND = (".tif", ".csv", ".json", ".html", ".pdf", ".txt")
"""Files whose bytes are the same from run to run, but for what is told of time."""


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


def whole(out: Path) -> list[str]:
    """Return what is wrong with the results that are there."""
    wrong = []
    for path in sorted(out.rglob("*")):
        hidden = any(part.startswith(".") for part in path.relative_to(out).parts)
        if hidden or not path.is_file():
            continue
        try:
            look_at(path)
        except Exception as error:  # noqa: BLE001 - whatever it is, it is told
            wrong.append(f"{path.name}: {error}")
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


def layers_of(out: Path) -> dict[str, str]:
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted((out / "layers").glob("*.tif"))
    }


def one_kill(good: Path, work: Path, name: str, moment_s: float) -> dict[str, object]:
    """Kill one run, look at what it left, and run it again to its end."""
    shutil.rmtree(work, ignore_errors=True)
    shutil.copytree(good, work)
    before = contents(work)
    command, *rest = COMMANDS[name]
    arguments = [command, str(work), *rest, *CELL]
    child = started(arguments)
    time.sleep(moment_s)
    os.kill(child, signal.SIGKILL)
    killed = finished(child) == -signal.SIGKILL
    wrong = whole(work / "out")
    again = finished(started(arguments))
    read_stack(work / "out" / "layers")
    wrong += whole(work / "out")
    return {
        "command": name,
        "moment_s": moment_s,
        "killed": killed,
        "wrong": wrong,
        "again": again,
        "changed": [k for k, v in contents(work).items() if before.get(k) != v],
        "layers": layers_of(work / "out"),
    }


def run(survey: Path, kills: int, seed: int) -> dict[str, object]:
    chance = random.Random(seed)  # noqa: S311 - moments, no secrets
    work = survey.parent / "work"
    wanted, lasts_s = {}, {}
    for name, (command, *rest) in list(COMMANDS.items())[:kills]:
        shutil.rmtree(work, ignore_errors=True)
        shutil.copytree(survey, work)
        start = time.monotonic()
        status = finished(started([command, str(work), *rest, *CELL]))
        assert status == 0, f"{name} ends with {status}"
        lasts_s[name] = time.monotonic() - start
        wanted[name] = layers_of(work / "out")
    told = []
    for number in range(kills):
        name = list(COMMANDS)[number % len(COMMANDS)]
        moment_s = chance.uniform(0.02, 0.98) * lasts_s[name]
        told.append(one_kill(survey, work, name, moment_s))
        told[-1]["same"] = told[-1].pop("layers") == wanted[name]
    return {"lasts_s": lasts_s, "kills": told}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(run(Path(sys.argv[1]), *map(int, sys.argv[2:4]))))
