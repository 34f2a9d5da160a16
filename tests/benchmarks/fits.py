"""How long ten species of 5,000 visits take to fit, one core: ``fits.py``."""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

from threadpoolctl import threadpool_limits

from pegscore.evaluation import fit_ranker

sys.path.append(str(Path(__file__).parents[1]))
from club_world import club_ranker, make_club

SPECIES, VISITS, PEGS = 10, 5000, 180


def main() -> None:
    tables = [make_club(seed, VISITS, pegs=PEGS).visits for seed in range(SPECIES)]
    start = perf_counter()
    with threadpool_limits(limits=1):
        for table in tables:
            fit_ranker(club_ranker(), table)
    print(f"{SPECIES} x {VISITS} visits, {PEGS} pegs: {perf_counter() - start:.1f} s")


if __name__ == "__main__":
    main()
