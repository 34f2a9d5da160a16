"""The ranker's figures on invented clubs: ``clubs.py 1000 40``.

First the visits, then the number of clubs. Prints means and standard errors over clubs.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd

from pegscore.baselines import raw_rate, shrunken_rate
from pegscore.evaluation import fit_ranker, half_score
from pegscore.metrics import ndcg, regret, tau_b
from pegscore.ranker import PegRanker

sys.path.append(str(Path(__file__).parents[1]))
from club_world import WATER, make_club

FIRST_SEED = 600


def new_ranker() -> PegRanker:
    return PegRanker(
        prior="log_prior",
        features=WATER,
        conditions=("water_c", "water_c_squared"),
        peg="peg",
        groups=("angler", "aim", "month"),
        chainage="chainage_m",
        tol=1e-3,
    )


def figures(seed: int, visits: int) -> dict[tuple[str, str, str], float]:
    club = make_club(seed, visits)
    table = club.visits.assign(water_c_squared=(club.visits["water_c"] - 12) ** 2)
    ranker = fit_ranker(new_ranker(), table)
    found = {}
    for where, chosen in (("fished", club.pegs.fished), ("new", ~club.pegs.fished)):
        pegs = ranker.standard(club.pegs[chosen])
        truth = club.truth[chosen]
        scores = {
            "preferences": pegs["log_prior"],
            "catch per hour": raw_rate(table, pegs, WATER),
            "shrunken": shrunken_rate(table, pegs, WATER),
            "trained": ranker.log_rate(pegs[ranker.columns()]),
            "half trained": half_score(ranker, pegs),
        }
        for rule, score in scores.items():
            found[where, rule, "regret5"] = regret(score, truth)
            found[where, rule, "ndcg10"] = ndcg(score, truth, top=10)
            found[where, rule, "tau_b"] = tau_b(score, truth)
    return found


def main(visits: int, clubs: int) -> None:
    seeds = range(FIRST_SEED, FIRST_SEED + clubs)
    table = pd.DataFrame([figures(seed, visits) for seed in seeds])
    error = table.std() / np.sqrt(len(table))
    print(pd.DataFrame({"mean": table.mean(), "error": error}).round(3).to_string())


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
