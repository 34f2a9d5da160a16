"""On invented clubs, whose truth the ranker never sees, it loses less of the catch."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from pegscore.baselines import shrunken_rate
from pegscore.evaluation import fit_ranker
from pegscore.metrics import regret
from pegscore.ranker import PegRanker

sys.path.append(str(Path(__file__).parent.parent))
from club_world import WATER, make_club

WORLDS = 10


def regrets(seed: int) -> dict[str, float]:
    club = make_club(seed, 1000)
    ranker = PegRanker(
        prior="log_prior",
        features=WATER,
        conditions=("water_c",),
        peg="peg",
        groups=("angler", "aim", "month"),
        chainage="chainage_m",
        tol=1e-3,
    )
    fit_ranker(ranker, club.visits)
    pegs = ranker.standard(club.pegs[club.pegs["fished"]])
    truth = club.truth[pegs.index]
    return {
        "ranker": regret(ranker.log_rate(pegs[ranker.columns()]), truth),
        "preferences": regret(pegs["log_prior"], truth),
        "shrunken": regret(shrunken_rate(club.visits, pegs, WATER), truth),
    }


@pytest.mark.slow
def test_the_best_five_fished_pegs_lose_less_than_by_preference_or_catch_per_hour():
    found = [regrets(seed) for seed in range(40, 40 + WORLDS)]

    def gain(rival: str) -> tuple[float, float]:
        gaps = np.array([world[rival] - world["ranker"] for world in found])
        return gaps.mean(), gaps.std(ddof=1) / np.sqrt(WORLDS)

    over_preferences, error = gain("preferences")
    assert over_preferences > 2 * error
    over_shrunken, error = gain("shrunken")
    assert over_shrunken > 0
    assert np.mean([world["ranker"] for world in found]) < 0.23 + 2 * error
