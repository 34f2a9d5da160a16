"""Ranking metrics against scikit-learn and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import kendalltau
from sklearn.metrics import ndcg_score

from pegscore.metrics import concordance, ndcg, regret, tau_b


@pytest.fixture
def pegs(rng):
    """Thirty pegs with ties in score and gain."""
    return rng.integers(0, 12, 30).astype(float), rng.poisson(2.0, 30).astype(float)


@pytest.mark.parametrize("top", [1, 5, 10, 30])
def test_ndcg_is_scikit_learns_ties_and_all(pegs, top):
    score, gain = pegs
    theirs = ndcg_score([gain], [score], k=top)
    np.testing.assert_allclose(ndcg(score, gain, top=top), theirs, rtol=1e-12)


def test_tau_b_is_scipys(pegs):
    score, gain = pegs
    assert tau_b(score, gain) == kendalltau(score, gain).statistic


def test_concordance_without_score_ties_is_goodman_and_kruskals_gamma(rng):
    score = rng.permutation(25).astype(float)
    ratio = rng.permutation(25).astype(float)
    tau = kendalltau(score, ratio).statistic  # no ties: tau-b is tau-a is gamma
    np.testing.assert_allclose(concordance(score, ratio, np.ones(25)), tau, rtol=1e-12)


def test_a_peg_of_no_weight_has_no_say(rng):
    score, ratio = rng.normal(size=12), rng.normal(size=12)
    weight = np.r_[np.ones(11), 0.0]
    here = concordance(score, ratio, weight)
    without = concordance(score[:11], ratio[:11], weight[:11])
    np.testing.assert_allclose(here, without, rtol=1e-12)


def test_the_true_order_has_no_regret_and_the_reverse_the_most(rng):
    gain = rng.permutation(40) + 1.0
    assert regret(gain, gain) == pytest.approx(0.0, abs=1e-12)
    # the worst five are 1..5 (sum 15), the best 36..40 (sum 190)
    assert regret(-gain, gain) == pytest.approx(1 - 15 / 190)


def test_a_constant_score_is_worth_the_average():
    gain = np.array([4.0, 0.0, 2.0, 2.0])
    assert regret(np.zeros(4), gain, top=2) == pytest.approx(1 - 4.0 / 6.0)


@pytest.mark.parametrize("measure", [lambda s, g: ndcg(s, g, top=5), regret, tau_b])
def test_nothing_caught_anywhere_is_no_measure(measure):
    assert np.isnan(measure(np.arange(6.0), np.zeros(6)))
