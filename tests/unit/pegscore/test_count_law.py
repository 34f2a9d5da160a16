"""The law of a catch, and how clumped catches are."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import nbinom, poisson

from pegscore.count_law import best_clump, log_likelihood
from pegscore.rate_model import Block, Counts, fit_rates


@pytest.mark.parametrize("clump", [0.4, 1.0, 7.5])
def test_the_law_is_scipys_negative_binomial(clump):
    fish, mean = np.arange(12.0), 2.6
    theirs = nbinom.logpmf(fish, clump, clump / (clump + mean))
    ours = log_likelihood(fish, np.full(12, mean), clump)
    np.testing.assert_allclose(ours, theirs, rtol=1e-10)


def test_without_clumping_it_is_poisson():
    fish = np.arange(9.0)
    ours = log_likelihood(fish, np.full(9, 3.1), np.inf)
    np.testing.assert_allclose(ours, poisson.logpmf(fish, 3.1), rtol=1e-12)


def test_the_clumping_that_was_put_in_is_found_again(rng):
    mean = rng.uniform(1.0, 6.0, 20_000)
    fish = rng.negative_binomial(0.9, 0.9 / (0.9 + mean)).astype(float)
    none = np.zeros(20_000)
    found = best_clump(fish, np.log(mean), none, np.ones(20_000), clump_sd=np.inf)
    assert found == pytest.approx(0.9, rel=0.04)  # its own error is about 1.3 %


def test_many_effects_that_bend_to_the_counts_do_not_hide_the_clumping(rng):
    groups, each, clump = 250, 4, 0.9
    member = np.repeat(np.arange(groups), each)
    mean = np.exp(1.0 + 0.5 * rng.normal(size=groups))[member]
    fish = rng.negative_binomial(clump, clump / (clump + mean)).astype(float)
    design = np.column_stack([np.ones(len(fish)), np.eye(groups)[member]])
    data = Counts(
        design=design, fish=fish, offset=np.zeros(len(fish)), weight=np.ones(len(fish))
    )
    fit = fit_rates(data, [Block(size=1), Block(size=groups, sd=0.5)], clump_sd=np.inf)
    blind = best_clump(
        fish, data.log_mean(fit.coef), 0 * fish, data.weight, clump_sd=np.inf
    )
    assert fit.clump == pytest.approx(clump, rel=0.25)  # its own error is about 7 %
    assert blind > 1.1 * fit.clump
