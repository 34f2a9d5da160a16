"""A ranker of one invented river on another: ``another_river.py 1000 600 640``.

First the visits, then the first and the last club. The ranker goes through its file.
Prints means and standard errors over clubs, each figure of a club the mean of six
levels: regret of the best five, tau, the paired gain over the preferences, the share of
clubs worse by over 0.05, how often the 80 % interval holds the truth, the share of pegs
outside the water that the returns cover, and ``lenders``, the share of clubs whose
ranker proved itself at home, with the gains of those alone.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from layers.bederror import Z_80
from pegscore.covered_water import outside
from pegscore.evaluation import SCHEMES, compare
from pegscore.metrics import regret, tau_b

sys.path.append(str(Path(__file__).parents[1]))
from club_world import club_ranker, make_club
from other_river import lent, make_other, scores

Found = dict[tuple[str, str], float]


def scene_figures(scene, ranker) -> Found:
    truth = scene.truth.to_numpy()
    found: Found = {}
    for rule, score in scores(scene, ranker).items():
        found["regret5", rule] = regret(score, truth)
        found["tau_b", rule] = tau_b(score, truth)
    gap = ranker.log_rate(scene.pegs) - np.log(truth)
    inside = np.abs(gap - gap.mean()) <= Z_80 * ranker.log_rate_sd(scene.pegs)
    found["80 % interval", "half"] = float(inside.mean())
    found["outside", "pegs"] = outside(scene.pegs, ranker.water)["any"]
    return found


def figures(seed: int, visits: int) -> Found:
    club = make_club(seed, visits)
    with tempfile.TemporaryDirectory() as folder:
        ranker = lent(club, Path(folder))
    scenes = [scene_figures(one, ranker) for one in make_other(seed, club.fish)]
    found: Found = pd.DataFrame(scenes).mean().to_dict()
    for rule in ("half", "full"):
        gain = found["regret5", "preferences"] - found["regret5", rule]
        found["gain", rule] = gain
        found["worse by 0.05", rule] = float(gain < -0.05)
        found["tau gain", rule] = found["tau_b", rule] - found["tau_b", "preferences"]
    home = compare(
        club_ranker(), club.visits, scheme=SCHEMES[1], baselines=["preferences"]
    )
    found["lenders", "share"] = float(home.accepted)
    for name in ("gain", "tau gain"):
        found["lenders", name] = found[name, "half"] if home.accepted else np.nan
    return found


def main(visits: int, first: int, last: int) -> None:
    table = pd.DataFrame([figures(seed, visits) for seed in range(first, last)])
    error = table.std() / np.sqrt(table.count())
    print(pd.DataFrame({"mean": table.mean(), "error": error}).round(3).to_string())


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:4]))
