"""An exact plan of sixty pegs from three thousand places, timed.

Run by hand: ``python tests/benchmarks/layouts.py``. Both banks of an invented bend, a
place every metre; once with banks that do not disturb each other (dynamic programme)
and once with pegs that face each other along half of the river (HiGHS).
"""

from __future__ import annotations

import time

import numpy as np

from pegscore.conflicts import matrix_of, too_close
from pegscore.peg_choice import PegChoice, best_choice

PLACES, PEGS = 3000, 60


def river(spacing_m: float, *, across_m: float) -> PegChoice:
    """Return smooth scores along two banks; facing within ``across_m`` in parts."""
    rng = np.random.default_rng(1)
    half = PLACES // 2
    along = np.tile(np.arange(half, dtype=float), 2)
    north = np.repeat([20.0, 0.0], half) + 15 * np.sin(along / 80)
    bank = np.repeat(np.array(["left", "right"], object), half)
    pairs = too_close(along, north, bank, spacing_m)
    one, other = np.nonzero(np.abs(along[:half, None] - along[:half]) < across_m)
    narrow = (one // 150) % 2 == 0
    facing = np.column_stack([one, other + half])[narrow]
    smooth = np.convolve(rng.random(PLACES + 60), np.ones(30) / 30, "valid")[:PLACES]
    return PegChoice(
        values=smooth + 0.02 * rng.random(PLACES),
        on_left=bank == "left",
        along_m=along,
        conflicts=matrix_of(np.vstack([pairs, facing]), PLACES),
        kept=np.zeros(PLACES, bool),
        step_free=(along > 200) & (along < 400),
    )


def main() -> None:
    for across_m in (0.0, 17.0):
        for spacing_m in (15.0, 25.0, 40.0):
            choice = river(spacing_m, across_m=across_m)
            start = time.perf_counter()
            found = best_choice(choice, PEGS, 6)
            spent_s = time.perf_counter() - start
            print(
                f"{spacing_m:3g} m, facing {across_m:2g} m: {spent_s:6.2f} s", end=" "
            )
            if found is not None:
                print(f"value {found.value:.3f} gap {found.gap:g} by {found.method}")


if __name__ == "__main__":
    main()
