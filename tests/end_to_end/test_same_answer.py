"""The same survey gives the same answer: again, hashed otherwise, on two threads."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rasterio

ROOT = Path(__file__).parents[2]
STEPS = (
    ["build", "--level", "0.6", "--level", "0.8"],
    ["rank", "--species", "barbel,chub"],
    ["train", "--species", "barbel"],
)
SCRIPT = (
    "import json, sys\nfrom pegscore.cli import main\n"
    "for name, *rest in json.loads(sys.argv[2]):\n"
    "    assert main([name, sys.argv[1], *rest, '--cell', '6', '--quiet']) == 0\n"
)
STAMPED_TABLE = 'INSERT INTO "gpkg_contents"'
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")


def begun(
    folder: Path, steps: tuple, *, threads: int, hashed: int
) -> subprocess.Popen[str]:
    """Start the steps in a process with so many threads and this order of hashes."""
    return subprocess.Popen(
        [sys.executable, "-c", SCRIPT, str(folder), json.dumps(steps)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env={
            **os.environ,
            **dict.fromkeys(THREADS, str(threads)),
            "PYTHONHASHSEED": str(hashed),
            "PYTHONPATH": str(ROOT),
        },
    )


@pytest.fixture(scope="module")
def outs(
    tmp_path_factory: pytest.TempPathFactory,
    write_survey: Callable[..., Path],
    write_returns: Callable[[Path], None],
) -> dict[str, Path]:
    """The results of ``first``, ``again`` and, without training, ``threaded``."""
    home = tmp_path_factory.mktemp("same")
    write_returns(write_survey(home / "first"))
    for name in ("again", "threaded"):
        shutil.copytree(home / "first", home / name)
    runs = [
        begun(home / "first", STEPS, threads=1, hashed=1),
        begun(home / "again", STEPS, threads=1, hashed=2),
        begun(home / "threaded", STEPS[:2], threads=2, hashed=3),
    ]
    said = [run.communicate()[1] for run in runs]
    assert [run.returncode for run in runs] == [0, 0, 0], said
    return {path.name: path / "out" for path in home.iterdir()}


def unstamped(path: Path) -> object:
    """Return what a file holds, but for the times that are stamped on it.

    These are two: a GeoPackage tells when each of its layers last changed, and
    ``run.json`` holds the fingerprint of the one among the layers.
    """
    if path.suffix == ".gpkg":
        with sqlite3.connect(path) as base:
            dumped = [
                line
                for line in base.iterdump()
                if not line.startswith(
                    ('INSERT INTO "gpkg_contents"', "CREATE TRIGGER")
                )
            ]
        base.close()
        return dumped
    if path.name == "run.json":
        made = json.loads(path.read_text("utf-8"))
        assert made["files"].pop("structure.gpkg")
        return made
    return path.read_bytes()


@pytest.mark.slow
def test_two_runs_write_the_same_bytes_however_python_hashes(outs):
    first, again = (
        {
            str(path.relative_to(outs[name])): unstamped(path)
            for path in sorted(outs[name].rglob("*"))
            if path.is_file() and not path.name.startswith(".")
        }
        for name in ("first", "again")
    )
    assert {"layers/depth.tif", "ranking.csv", "ranker.json", "run.json"} <= set(first)
    assert [name for name in first if first[name] != again[name]] == []
    assert list(first) == list(again)


@pytest.mark.slow
def test_two_threads_agree_with_one_far_within_what_a_survey_can_know(outs):
    """Depth and pace within 0.1 mm and 0.1 mm/s, shares and scores within 0.0001.

    Sums may be added in another order on two threads, which moves the last digits of
    the fitted flow; a survey errs by centimetres, and two decimals are shown.
    """
    one, two = outs["first"], outs["threaded"]
    for path in sorted((one / "layers").glob("*.tif")):
        with rasterio.open(path) as a, rasterio.open(two / "layers" / path.name) as b:
            np.testing.assert_allclose(a.read(), b.read(), rtol=0, atol=1e-4)
    tables = [
        pd.read_csv(out / "ranking.csv", dtype={"peg": str}) for out in (one, two)
    ]
    keyed = [table.set_index(["species", "peg"]).sort_index() for table in tables]
    for name in ("score", "low", "high", "depth_m", "speed_m_s"):
        np.testing.assert_allclose(keyed[0][name], keyed[1][name], rtol=0, atol=1e-4)
