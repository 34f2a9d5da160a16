"""Shrinkage that can be told by head, and spreads that the data show."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import nbinom, poisson

from pegscore.rate_model import Block, Counts, fit_rates, log_likelihood


def grouped(rng, *, groups=60, visits=40, spread=0.6, clump=1.5) -> Counts:
    effect = rng.normal(0, spread, groups)
    group = np.repeat(np.arange(groups), visits)
    mean = np.exp(0.3 + effect[group])
    fish = rng.negative_binomial(clump, clump / (clump + mean)).astype(float)
    design = np.column_stack([np.ones(len(group)), np.eye(groups)[group]])
    zeros = np.zeros(len(group))
    return Counts(design=design, fish=fish, offset=zeros, weight=zeros + 1)


def test_the_probabilities_are_scipys():
    fish = np.arange(9.0)
    mean = np.full(9, 2.5)
    np.testing.assert_allclose(
        log_likelihood(fish, mean, 1.3), nbinom.logpmf(fish, 1.3, 1.3 / 3.8), rtol=1e-9
    )
    np.testing.assert_allclose(
        log_likelihood(fish, mean, np.inf), poisson.logpmf(fish, 2.5), rtol=1e-9
    )


def test_without_data_a_coefficient_is_its_prior():
    data = Counts(
        design=np.column_stack([np.ones(4), np.zeros(4)]),
        fish=np.array([1.0, 0, 2, 1]),
        offset=np.zeros(4),
        weight=np.ones(4),
    )
    fit = fit_rates(data, [Block(size=1), Block(size=1, mean=0.8, sd=0.4)])
    np.testing.assert_allclose(fit.coef[1], 0.8, rtol=1e-9)
    np.testing.assert_allclose(fit.covariance[1, 1], 0.16, rtol=1e-6)  # tiny ridge
    np.testing.assert_allclose(fit.coef[0], 0.0, atol=1e-6)  # the mean count is 1


def test_spread_and_size_are_found_again(rng):
    data = grouped(rng)
    blocks = [Block(size=1), Block(size=60, sd=0.3, weight=3.0)]
    fit = fit_rates(data, blocks, max_iter=200)
    assert fit.converged
    # the standard error of a spread from 60 groups is about 0.6 / sqrt(120) = 0.055,
    # and visits within a group add some
    assert fit.sds[1] == pytest.approx(0.6, abs=0.2)
    assert fit.clump == pytest.approx(1.5, abs=0.35)


def test_groups_without_an_effect_are_shrunk_together(rng):
    data = grouped(rng, spread=0.0)
    blocks = [Block(size=1), Block(size=60, sd=0.3, weight=3.0)]
    fit = fit_rates(data, blocks, max_iter=200)
    raw = np.log(np.add.reduceat(data.fish, np.arange(0, 2400, 40)) / 40) - 0.3
    assert fit.sds[1] < 0.2
    assert np.abs(fit.coef[1:]).mean() < 0.6 * np.abs(raw).mean()
