"""What can be learnt of closed pegs at the very most: ``club_limits.py 300 340``.

The first and the last club. A smooth correction of each feature and a slope on the
preference, as the ranker has them, are fitted not to returns but to the truth of every
open peg: to the habitat, or to the whole rate, the pegs' own effects with it, as no end
of returns would tell it. Water as surveyed or as it truly is. Prints the regret of the
best five closed pegs, and tau, means and standard errors over clubs.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd

from pegscore.metrics import regret, tau_b

sys.path.append(str(Path(__file__).parents[1]))
from club_world import HANDLING, WATER, Scene, make_club

VISITS = 1000
"""They decide the river's levels alone: what is learnt here is the truth."""
BEND_SD, LINEAR_SD, SLOPE_SD = 0.3, 0.2, 0.4  # the ranker's own first guesses
NOISE = {"habitat": 0.02, "rate": 0.3}  # variance of what the water does not tell


def kernel(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Return how alike pegs are: smooths of each feature, slope on the last column."""
    found = SLOPE_SD**2 * np.outer(one[:, -1], other[:, -1])
    for mine, theirs in zip(one[:, :-1].T, other[:, :-1].T, strict=True):
        gap = mine[:, None] - theirs
        found += BEND_SD**2 * np.exp(-0.5 * gap**2)
        found += LINEAR_SD**2 * np.outer(mine, theirs)
    return found


def learnt(told, at_open, truth, noise) -> np.ndarray:
    told = (told - told[at_open].mean(axis=0)) / told[at_open].std(axis=0)
    seen, level = told[at_open], truth[at_open].mean()
    within = kernel(seen, seen) + noise * np.eye(len(seen))
    return kernel(told, seen) @ np.linalg.solve(within, truth[at_open] - level)


def scene_figures(scene: Scene) -> dict[tuple[str, str], float]:
    new = scene.groups()["new"]
    at_open = ~scene.pegs["closed"].to_numpy()
    truth = scene.truth.to_numpy()
    rate = np.log(truth / (1 - HANDLING * truth))
    goals = {"habitat": scene.ceiling.to_numpy(), "rate": rate}
    scores = {"preferences": scene.pegs["log_prior"], "true habitat": scene.ceiling}
    for water, table in {"surveyed": scene.pegs, "true": scene.water}.items():
        told = table[WATER].assign(prior=scene.pegs["log_prior"]).to_numpy(np.float64)
        for name, goal in goals.items():
            score = learnt(told, at_open, goal, NOISE[name])
            scores[f"{name} of open pegs, {water} water"] = score
    found = {}
    for name, score in scores.items():
        found[name, "regret5"] = regret(score[new], truth[new])
        found[name, "tau_b"] = tau_b(score[new], truth[new])
    return found


def figures(seed: int) -> dict[tuple[str, str], float]:
    scenes = [scene_figures(scene) for scene in make_club(seed, VISITS).scenes]
    return pd.DataFrame(scenes).mean().to_dict()


def main(first: int, last: int) -> None:
    table = pd.DataFrame([figures(seed) for seed in range(first, last)])
    error = table.std() / np.sqrt(len(table))
    print(pd.DataFrame({"mean": table.mean(), "error": error}).round(3).to_string())


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]))
