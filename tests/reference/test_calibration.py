"""Intervals hold the truth as often as they say, when the world is the model's own.

Simulation-based calibration (Talts et al. 2018, arXiv 1804.06788, from memory): truths
drawn from the priors, data from the truths; where the truth falls in its posterior law
must then be uniform. The posterior is Laplace's, so this also asks whether that is near
enough. Each test of uniformity gives a false alarm once in a thousand.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import chisquare, norm

from pegscore.ranker import PegRanker
from pegscore.rate_model import Block, Counts, fit_rates

WORLDS, PEGS, VISITS, CLUMP = 400, 15, 150, 1.2
SLOPE, SLOPE_SD, PEG_SD = 0.8, 0.4, 0.4
BINS, FALSE_ALARM = 10, 1e-3


def places(seed: int) -> dict[str, float]:
    """Return where the slope, a peg and a peg's whole log rate fall in their laws."""
    rng = np.random.default_rng([seed, 5])
    prior = rng.normal(0, 0.7, PEGS)
    peg = rng.integers(PEGS, size=VISITS)
    level, slope = rng.normal(0.5, 0.5), rng.normal(SLOPE, SLOPE_SD)
    own = PEG_SD * rng.normal(size=PEGS)
    truth = np.concatenate([[level, slope], own])
    design = np.column_stack([np.ones(VISITS), prior[peg], np.eye(PEGS)[peg]])
    mean = np.exp(design @ truth)
    data = Counts(
        design=design,
        fish=rng.negative_binomial(CLUMP, CLUMP / (CLUMP + mean)).astype(float),
        offset=np.zeros(VISITS),
        weight=np.ones(VISITS),
    )
    blocks = [
        Block(size=1, mean=0.5, sd=0.5),
        Block(size=1, mean=SLOPE, sd=SLOPE_SD),
        Block(size=PEGS, sd=PEG_SD),
    ]
    fit = fit_rates(data, blocks, clump=CLUMP)
    rows = {"slope": np.eye(PEGS + 2)[1], "peg": np.eye(PEGS + 2)[2]}
    rows["rate"] = np.concatenate([[1.0, prior[3]], np.eye(PEGS)[3]])
    return {
        name: float(
            norm.cdf(row @ (truth - fit.coef) / np.sqrt(row @ fit.covariance @ row))
        )
        for name, row in rows.items()
    }


@pytest.mark.slow
def test_truths_fall_evenly_over_their_posterior_laws():
    found = pd.DataFrame([places(seed) for seed in range(WORLDS)])
    for name in found:
        counts = np.histogram(found[name], BINS, (0.0, 1.0))[0]
        assert chisquare(counts).pvalue > FALSE_ALARM, name


@pytest.mark.soak
def test_truths_fall_evenly_over_their_posterior_laws_in_four_thousand_worlds():
    """Ten times the worlds, told apart in twenty bins, on other draws."""
    found = pd.DataFrame([places(10_000 + seed) for seed in range(10 * WORLDS)])
    for name in found:
        counts = np.histogram(found[name], 2 * BINS, (0.0, 1.0))[0]
        assert chisquare(counts).pvalue > FALSE_ALARM, name


def held(seed: int) -> tuple[float, float]:
    """Return how many fished and never fished pegs' intervals hold the truth."""
    rng = np.random.default_rng([seed, 6])
    pegs, closed = 40, 12
    prior, sd = rng.normal(-1, 0.6, pegs), rng.uniform(0.2, 0.7)
    truth = 0.4 + rng.normal(SLOPE, SLOPE_SD) * prior + sd * rng.normal(size=pegs)
    peg = rng.integers(closed, pegs, size=400)
    hours = rng.uniform(2, 6, 400)
    mean = hours * np.exp(truth[peg])
    fish = rng.negative_binomial(CLUMP, CLUMP / (CLUMP + mean))
    names = np.array([f"p{at}" for at in range(pegs)])
    water = pd.DataFrame({"log_prior": prior, "peg": names})
    ranker = PegRanker(prior="log_prior", features=(), peg="peg", tol=1e-3)
    ranker.fit(water.iloc[peg], fish / hours, exposure=hours)
    gap = ranker.log_rate(water) - truth
    fished = np.arange(pegs) >= closed
    gap -= gap[fished].mean()  # the level is no part of a ranking's interval
    inside = np.abs(gap) < norm.ppf(0.9) * ranker.log_rate_sd(water)
    return float(inside[fished].mean()), float(inside[~fished].mean())


@pytest.mark.slow
def test_eight_in_ten_intervals_hold_the_rate_of_fished_and_of_new_pegs():
    found = np.array([held(seed) for seed in range(60)])
    for share in found.T:
        error = share.std(ddof=1) / np.sqrt(len(share))
        assert abs(share.mean() - 0.8) < 0.05 + 2 * error  # 75 to 85 % is asked for
