"""The check for known weaknesses: what it makes of each kind of answer."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parent.parent / ".ci" / "advisories"
CLEAN = {"name": "numpy", "version": "2.0", "vulns": []}
UNKNOWN = {"name": "numpy", "skip_reason": "not found"}
WEAK = {**CLEAN, "vulns": [{"id": "X-1", "fix_versions": ["2.1"]}]}


def ended(folder: Path, answer: str) -> subprocess.CompletedProcess[str]:
    """Run the script in an environment whose pip-audit gives this answer."""
    home = folder / "bin"
    home.mkdir()
    (folder / "answer").write_text(answer)
    for name, does in {
        "pip": "echo numpy==2.0",
        "pip-audit": f"cat '{folder / 'answer'}'",
        "python": f"exec '{sys.executable}' \"$@\"",
    }.items():
        (home / name).write_text(f"#!/bin/sh\n{does}\n")
        (home / name).chmod(0o755)
    return subprocess.run(
        ["bash", str(SCRIPT), str(folder)], capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize(
    ("libraries", "status", "said"),
    [
        ([CLEAN], 0, "1 of 1 libraries looked at"),
        ([CLEAN, UNKNOWN], 0, "1 of 2 libraries looked at"),
        ([WEAK], 1, "numpy 2.0: X-1, mended in 2.1"),
        ([UNKNOWN], 0, "no library was looked at"),
    ],
)
def test_only_a_known_weakness_fails_and_silence_is_not_called_clean(
    tmp_path: Path, libraries, status, said
):
    done = ended(tmp_path, json.dumps({"dependencies": libraries}))
    assert done.returncode == status
    assert said in done.stdout


def test_no_answer_at_all_is_said_and_fails_nothing(tmp_path: Path):
    done = ended(tmp_path, "")
    assert done.returncode == 0
    assert "no library was looked at" in done.stdout
