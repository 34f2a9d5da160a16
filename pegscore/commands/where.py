"""``pegscore where``: versions and paths."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import layers
import pegscore
from pegscore import screen
from pegscore.record import versions

if TYPE_CHECKING:
    from argparse import Namespace


def run(options: Namespace) -> int:
    """Show versions and paths for a bug report."""
    answer = {
        "pegscore": str(Path(pegscore.__file__).parent),
        "layers": str(Path(layers.__file__).parent),
        "versions": versions(),
    }
    if options.json:
        screen.show_json(answer)
        return screen.DONE
    screen.show(f"pegscore at {answer['pegscore']}")
    screen.show(f"layers   at {answer['layers']}")
    for name, number in versions().items():
        screen.show(f"{name:10} {number}")
    return screen.DONE
