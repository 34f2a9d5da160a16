"""The count regression against R's published fits and against statsmodels.

Data: deepsea fishing, 147 trawl hauls with swept area (Zuur, Hilbe & Ieno 2013; the
set ``fishing`` of the R package COUNT). Coefficients: R (glm, MASS::glm.nb).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from pegscore.rate_model import Block, Counts, fit_rates, log_likelihood

DATA = Path(__file__).parent / "data" / "deepsea" / "hauls.csv"
FREE = [Block(size=3)]


def hauls(depth_unit_m: float = 1000.0) -> Counts:
    table = pd.read_csv(DATA)
    late = (table["period"] == "2000-2002").astype(float)
    depth = table["meandepth"] / depth_unit_m
    design = np.column_stack([np.ones(len(table)), depth, late])
    return Counts(
        design=design,
        fish=table["totabund"].to_numpy(float),
        offset=np.log(table["sweptarea"].to_numpy(float)),
        weight=np.ones(len(table)),
    )


def test_poisson_coefficients_and_likelihood_are_those_of_r():
    data = hauls()
    fit = fit_rates(data, FREE, clump=np.inf, tol=1e-10)
    expected = [-3.48011334, -0.937538, -0.543202890]
    np.testing.assert_allclose(fit.coef, expected, rtol=1e-6)  # digits as printed
    logs = log_likelihood(data.fish, np.exp(data.log_mean(fit.coef)), np.inf)
    np.testing.assert_allclose(logs.sum(), -8013.5156, atol=1e-4)


def test_negative_binomial_coefficients_size_and_likelihood_are_those_of_r():
    data = hauls()
    fit = fit_rates(data, FREE, clump_sd=np.inf, tol=1e-10, max_iter=200)
    expected = [-3.30700308, -1.016824, -0.426980584]
    np.testing.assert_allclose(fit.coef, expected, rtol=1e-5)  # size by bracketing
    np.testing.assert_allclose(fit.clump, 1.953821, rtol=1e-5)
    logs = log_likelihood(data.fish, np.exp(data.log_mean(fit.coef)), fit.clump)
    np.testing.assert_allclose(logs.sum(), -876.6227, atol=1e-4)


@pytest.mark.parametrize("clump", [np.inf, 1.953821])
def test_standard_errors_are_those_of_statsmodels(clump):
    data = hauls()
    family = (
        sm.families.Poisson()
        if np.isinf(clump)
        else sm.families.NegativeBinomial(alpha=1 / clump)
    )
    theirs = sm.GLM(data.fish, data.design, family=family, offset=data.offset).fit()
    ours = fit_rates(data, FREE, clump=clump, tol=1e-10)
    np.testing.assert_allclose(ours.coef, theirs.params, rtol=1e-6)
    errors = np.sqrt(np.diag(ours.covariance))
    np.testing.assert_allclose(errors, theirs.bse, rtol=1e-5)  # both are Fisher's


def test_a_weight_of_two_is_a_row_twice():
    data = hauls()
    weight = np.where(np.arange(147) % 3 == 0, 2.0, 1.0)
    twice = np.repeat(np.arange(147), weight.astype(int))
    weighted = Counts(
        design=data.design, fish=data.fish, offset=data.offset, weight=weight
    )
    repeated = Counts(
        design=data.design[twice],
        fish=data.fish[twice],
        offset=data.offset[twice],
        weight=np.ones(len(twice)),
    )
    blocks = [Block(size=1), Block(size=2, sd=0.3, weight=2.0)]
    one, two = fit_rates(weighted, blocks), fit_rates(repeated, blocks)
    np.testing.assert_allclose(one.coef, two.coef, rtol=1e-6)
    np.testing.assert_allclose(one.covariance, two.covariance, rtol=1e-5, atol=1e-12)


def test_forgetting_the_swept_area_shows():
    data = hauls()
    without = Counts(
        design=data.design,
        fish=data.fish,
        offset=np.zeros(147),
        weight=data.weight,
    )
    fit = fit_rates(without, FREE, clump_sd=np.inf, tol=1e-10, max_iter=200)
    np.testing.assert_allclose(fit.coef[1:], [-0.733140, -0.387317], rtol=1e-4)
