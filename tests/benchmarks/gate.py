"""How often the gate opens to nothing: ``gate.py 200 0 50``.

First the visits, then the first and the last club. Of each club the catches are dealt
out anew over its pegs, so that nothing can be learnt, and both tests are asked. Prints
how many opened, their share and its binomial standard error.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd

from pegscore.evaluation import SCHEMES, compare

sys.path.append(str(Path(__file__).parents[1]))
from club_world import WATER, club_ranker, make_club

PEG = ["peg", "chainage_m", "log_prior", *WATER]


def accepted(seed: int, visits: int) -> dict[str, bool]:
    table = make_club(seed, visits).visits
    order = np.random.default_rng(seed).permutation(len(table))
    dealt = table.assign(**{name: table[name].to_numpy()[order] for name in PEG})
    return {
        scheme: compare(
            club_ranker(), dealt, scheme=scheme, baselines=["preferences"]
        ).accepted
        for scheme in SCHEMES
    }


def main(visits: int, first: int, last: int) -> None:
    table = pd.DataFrame([accepted(seed, visits) for seed in range(first, last)])
    share, count = table.mean(), len(table)
    error = np.sqrt(share * (1 - share) / count)
    told = {"opened": table.sum(), "of": count, "share": share, "error": error}
    print(pd.DataFrame(told).round(4).to_string())


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:4]))
