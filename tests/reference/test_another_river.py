"""What returns of one river teach is not worse than preferences on another."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from pegscore.metrics import regret, tau_b

sys.path.append(str(Path(__file__).parent.parent))
from club_world import make_club
from other_river import lent, make_other, scores

CLUBS, VISITS = range(700, 708), 600


@pytest.fixture(scope="module")
def gains(tmp_path_factory) -> dict[str, np.ndarray]:
    """Return the gains over the preferences of half of what was learnt, by club."""
    folder = tmp_path_factory.mktemp("home")
    found = {"regret": [], "tau": []}
    for seed in CLUBS:
        club = make_club(seed, VISITS)
        ranker = lent(club, folder)
        told = []
        for scene in make_other(seed, club.fish)[::2]:
            truth, orders = scene.truth.to_numpy(), scores(scene, ranker)
            prior, half = orders["preferences"], orders["half"]
            told.append(
                (
                    regret(prior, truth) - regret(half, truth),
                    tau_b(half, truth) - tau_b(prior, truth),
                )
            )
        for name, value in zip(found, np.mean(told, axis=0), strict=True):
            found[name].append(value)
    return {name: np.array(values) for name, values in found.items()}


@pytest.mark.slow
@pytest.mark.parametrize("measure", ["regret", "tau"])
def test_half_of_another_rivers_ranker_is_not_worse_than_preferences(gains, measure):
    found = gains[measure]
    # as far as eight clubs can tell; forty by hand, in tests/benchmarks
    assert found.mean() > -2 * found.std(ddof=1) / np.sqrt(len(found))
