"""A second invented river of the same species, of which nobody handed in a return.

As the study the ranker's design comes from has it: each optimum shifted by a fifth of
its tolerance (one standard deviation), the water 10 to 35 % deeper or shallower, pegs
with new effects of their own, the same published preferences.
"""

from __future__ import annotations

import copy
import json
from dataclasses import replace

import numpy as np
from club_world import (
    Club,
    Fish,
    Scene,
    _own,
    _river,
    _stages,
    _surveyed,
    club_ranker,
    scenes_of,
)

from pegscore.covered_water import covered_water
from pegscore.evaluation import fit_ranker
from pegscore.ranker_file import read_foreign
from pegscore.trained import Trained, keep

SHIFT, DEEPER = 0.2, (1.10, 1.35)


def shifted(rng, fish: Fish) -> Fish:
    """Return the species as another river's fish are: optima a little elsewhere."""
    other = copy.copy(fish)
    other.curves = {
        name: (optimum + SHIFT * wide * rng.normal(), wide, skew, weight)
        for name, (optimum, wide, skew, weight) in fish.curves.items()
    }
    return other


def make_other(seed: int, fish: Fish) -> list[Scene]:
    """Return another river's pegs at six levels, all of them never fished."""
    rng = np.random.default_rng([seed, 78])
    n = int(rng.integers(60, 301))
    chainage = np.cumsum(rng.uniform(28, 45, n))
    true = _river(rng, chainage)
    factor = rng.uniform(*DEEPER) ** rng.choice([-1, 1])
    true = true.assign(depth_m=true["depth_m"] * factor)
    seen = _surveyed(rng, true)
    there = shifted(rng, fish)
    own = _own(rng, chainage)[0]
    flags = {"peg": [f"p{at}" for at in range(n)], "chainage_m": chainage}
    return scenes_of((true, seen), (there, fish), own, _stages(rng), flags)


def lent(club: Club, folder) -> Trained:
    """Train on a club's returns, save, and read as another river would."""
    kept = keep(
        fit_ranker(club_ranker(), club.visits),
        inflation=(1.25, 1.25),
        for_fished=True,
        new_share=0.5,
        records={},
        water=covered_water(club.visits),
    )
    told = {"river": "Home", "species": {"fish": {"ranker": kept.as_record()}}}
    (folder / "ranker.json").write_text(json.dumps(told), encoding="utf-8")
    rankers, _ = read_foreign(folder / "ranker.json")
    return rankers["fish"]


def scores(scene: Scene, ranker: Trained) -> dict[str, np.ndarray]:
    """Return the orders by preferences, by half of what was learnt and by all of it."""
    return {
        "preferences": scene.pegs["log_prior"].to_numpy(),
        "half": ranker.log_rate(scene.pegs),
        "full": replace(ranker, new_share=1.0).log_rate(scene.pegs),
        "habitat": scene.ceiling.to_numpy(),
    }
