"""The ranker on published fish of a real river, whole stretches of it left out.

Verneaux 1973, see ``data/doubs``. ``tests/benchmarks/doubs.py`` prints every figure;
here stands only what is significant by the block jackknife. With 29 sites on one
gradient that is little: the ranker is not shown to beat the preferences it starts
from, nor the rule "always downstream".
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parent.parent))
import doubs_river as river

RULES = river.RULES


@pytest.fixture(scope="module")
def scores():
    labels = river.blocks(river.sites())
    return {name: river.left_out_scores(rule, labels) for name, rule in RULES.items()}


@pytest.mark.slow
@pytest.mark.parametrize("name", ["preferences", "ranker", "half ranker"])
def test_unseen_stretches_are_ordered_better_than_by_chance(scores, name):
    mean, error = river.jackknifed(
        lambda keep: river.measured(scores[name], "tau_b", keep)
    )
    assert mean > 2 * error


@pytest.mark.slow
def test_half_a_ranker_is_not_significantly_worse_than_the_preferences(scores):
    gain, error = river.jackknifed(
        lambda keep: (
            river.measured(scores["half ranker"], "tau_b", keep)
            - river.measured(scores["preferences"], "tau_b", keep)
        )
    )
    assert gain > -error


@pytest.mark.slow
def test_leaving_out_single_sites_flatters(scores):
    every = np.ones(len(river.sites()), dtype=bool)
    near = "two nearest sites"
    alone = river.left_out_scores(RULES[near], np.arange(len(every)))
    flattered = river.measured(alone, "tau_b", every)
    assert flattered > river.measured(scores[near], "tau_b", every)
