"""The memory that sweeping a river from its file takes: no more for a longer one."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

BENCHMARKS = Path(__file__).parents[1] / "benchmarks"
sys.path.append(str(BENCHMARKS))
from synthetic import write_river  # noqa: E402 - lies among the benchmarks

pytestmark = pytest.mark.slow

MOST_MB = 400
"""What a whole river may take; two thirds of it are libraries."""


def peak_mb(folder: Path, kilometres: int) -> float:
    path = folder / f"{kilometres}.tif"
    write_river(path, kilometres * 1000)
    done = subprocess.run(
        [sys.executable, BENCHMARKS / "speed.py", "--child", path, str(kilometres)],
        capture_output=True,
        text=True,
        check=True,
    )
    return float(done.stdout.split()[1])


def test_a_river_six_times_as_long_takes_no_more_memory(tmp_path):
    short, long = peak_mb(tmp_path, 4), peak_mb(tmp_path, 24)
    # as whole rasters the long one is 47 MB a layer, and eight layers are read
    assert long < short + 30
    assert long < MOST_MB
