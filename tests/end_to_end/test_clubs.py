"""On invented clubs, whose truth the ranker never sees, it loses less of the catch."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from pegscore.baselines import shrunken_rate
from pegscore.evaluation import fit_ranker
from pegscore.metrics import regret
from pegscore.new_pegs import new_peg_score

sys.path.append(str(Path(__file__).parent.parent))
from club_world import WATER, club_ranker, make_club
from peers import lambdamart

WORLDS = 10


def regrets(seed: int) -> dict[tuple[str, str], float]:
    """Return each rule's regret, the mean over six river levels."""
    club = make_club(seed, 1000)
    ranker = fit_ranker(club_ranker(), club.visits)
    found: dict[tuple[str, str], list[float]] = {}
    for scene in club.scenes:
        pegs = ranker.standard(scene.pegs)
        scores = {
            "ranker": ranker.log_rate(pegs[ranker.columns()]),
            "half": new_peg_score(ranker, pegs),
            "preferences": pegs["log_prior"].to_numpy(),
            "LambdaMART": lambdamart(club.visits, pegs, WATER),
            "shrunken": shrunken_rate(club.visits, pegs, WATER),
        }
        for where, chosen in scene.groups().items():
            for rule, score in scores.items():
                lost = regret(score[chosen], scene.truth[chosen])
                found.setdefault((where, rule), []).append(lost)
    return {key: float(np.mean(values)) for key, values in found.items()}


@pytest.fixture(scope="module")
def worlds() -> list[dict[tuple[str, str], float]]:
    return [regrets(seed) for seed in range(400, 400 + WORLDS)]


def gain(worlds, where: str, ours: str, rival: str) -> tuple[float, float]:
    gaps = np.array([world[where, rival] - world[where, ours] for world in worlds])
    return gaps.mean(), gaps.std(ddof=1) / np.sqrt(WORLDS)


@pytest.mark.slow
def test_the_best_five_fished_pegs_lose_less_than_by_preference_or_catch_per_hour(
    worlds,
):
    over_preferences, error = gain(worlds, "fished", "ranker", "preferences")
    assert over_preferences > 2 * error
    over_shrunken, error = gain(worlds, "fished", "ranker", "shrunken")
    assert over_shrunken > 0
    lost = [world["fished", "ranker"] for world in worlds]
    assert np.mean(lost) < 0.23 + 2 * np.std(lost, ddof=1) / np.sqrt(WORLDS)


@pytest.mark.slow
@pytest.mark.parametrize(("where", "ours"), [("fished", "ranker"), ("new", "half")])
def test_a_ranking_loss_on_trees_loses_more_of_the_catch(worlds, where, ours):
    over_trees, error = gain(worlds, where, ours, "LambdaMART")
    assert over_trees > 2 * error


@pytest.mark.slow
def test_pegs_never_fished_are_not_ordered_worse_than_by_preference(worlds):
    over_preferences, error = gain(worlds, "new", "half", "preferences")
    assert over_preferences > -error
