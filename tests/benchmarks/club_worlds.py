"""What the invented clubs are like, whatever ranks them: ``club_worlds.py 1000 0 80``.

First the visits, then the first and the last club. Prints, over clubs, the figures that
``club_world`` was set by.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd

from pegscore.metrics import regret, tau_b

sys.path.append(str(Path(__file__).parents[1]))
from club_world import Scene, make_club


def scene_figures(scene: Scene) -> dict[tuple[str, str], float]:
    spread = np.quantile(scene.truth, 0.95) / np.quantile(scene.truth, 0.05)
    found = {("pegs", "95th / 5th percentile"): spread}
    for where, chosen in scene.groups().items():
        found[where, "pegs"] = float(chosen.sum())
        truth = scene.truth[chosen]
        rules = {"preferences": scene.pegs["log_prior"], "habitat": scene.ceiling}
        for rule, score in rules.items():
            found[where, f"{rule} regret5"] = regret(score[chosen], truth)
            found[where, f"{rule} tau_b"] = tau_b(score[chosen], truth)
    return found


def figures(seed: int, visits: int) -> dict[tuple[str, str], float]:
    club = make_club(seed, visits)
    found = pd.DataFrame([scene_figures(scene) for scene in club.scenes]).mean()
    fish = club.visits["fish"]
    blanks = {("visits", "blank"): float((fish == 0).mean())}
    return (
        found.to_dict() | blanks | {("visits", "var / mean"): fish.var() / fish.mean()}
    )


def main(visits: int, first: int, last: int) -> None:
    table = pd.DataFrame([figures(seed, visits) for seed in range(first, last)])
    error = table.std() / np.sqrt(len(table))
    print(pd.DataFrame({"mean": table.mean(), "error": error}).round(3).to_string())


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:4]))
