"""Round weights are ranges, and the typical fish is fitted to the ranges."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm
from statsmodels.base.model import GenericLikelihoodModel

from layers.columns import POUND_KG
from pegscore.errors import ReturnsRefused
from pegscore.weights import interval_normal, rounded_range, typical_weight, unit_told


@pytest.mark.parametrize(
    ("pounds", "low", "high"),
    [
        (10.0, 7.5, 12.5),  # about ten: to the nearest five
        (20.0, 15.0, 25.0),
        (7.0, 6.5, 7.5),
        (4.25, 4.125, 4.375),
        (7 + 3 / 16, 7 + 5 / 32, 7 + 7 / 32),  # weighed, to the ounce
        (1.0, 0.875, 1.125),
    ],
)
def test_how_round_a_weight_is_says_how_far_off_it_can_be(pounds, low, high):
    found = rounded_range([pounds * POUND_KG])
    np.testing.assert_allclose(np.array(found).ravel() / POUND_KG, [low, high])


def test_kilograms_are_rounded_in_their_own_steps():
    low, high = rounded_range([3.0, 2.4, np.nan], unit="kg")
    np.testing.assert_allclose(low[:2], [2.5, 2.35])
    np.testing.assert_allclose(high[:2], [3.5, 2.45])
    assert np.isnan(low[2])
    assert np.isnan(high[2])
    with pytest.raises(ReturnsRefused, match="choose one of lb, kg"):
        rounded_range([1.0], unit="stone")


def test_the_unit_is_the_one_in_which_the_weights_are_round():
    assert unit_told(np.array([2.0, 4.5, 7.25, 10.0]) * POUND_KG) == "lb"
    assert unit_told([1.5, 2.0, 3.2, 0.7]) == "kg"


class Ranges(GenericLikelihoodModel):
    """Statsmodels maximises and differentiates the same likelihood by itself."""

    def nloglikeobs(self, params):
        sd = np.exp(params[1])
        inside = norm.cdf(self.endog[:, 1], params[0], sd)
        return -np.log(inside - norm.cdf(self.endog[:, 0], params[0], sd))


def test_the_fit_to_ranges_and_its_error_are_those_of_statsmodels(rng):
    values = rng.normal(1.2, 0.5, 120)
    low = np.floor(2 * values) / 2
    ends = np.column_stack([low, low + 0.5])
    theirs = Ranges(ends, np.ones((120, 1)), extra_params_names=["log_sd"])
    found = theirs.fit(start_params=[1.0, -1.0], disp=0, maxiter=5000, maxfun=5000)
    mean, sd, error = interval_normal(*ends.T)
    assert mean == pytest.approx(found.params[0], abs=1e-3)  # both search to 1e-4
    assert sd == pytest.approx(np.exp(found.params[1]), rel=2e-3)
    assert error == pytest.approx(found.bse[0], rel=0.02)


def test_ranges_of_no_width_give_the_mean_and_its_usual_error(rng):
    values = rng.normal(0.0, 1.0, 200)
    mean, sd, error = interval_normal(values - 1e-4, values + 1e-4)
    assert mean == pytest.approx(values.mean(), abs=1e-3)
    assert sd == pytest.approx(values.std(), rel=1e-3)
    assert error == pytest.approx(values.std() / np.sqrt(200), rel=1e-3)


def returns(pounds: list[float], anglers: int = 4) -> pd.DataFrame:
    n = len(pounds)
    return pd.DataFrame(
        {
            "species": "barbel",
            "count": 1,
            "weight_kg": np.array(pounds) * POUND_KG,
            "angler": [f"a{at % anglers}" for at in range(n)],
        }
    )


def test_round_weights_widen_what_is_said_of_the_typical_fish():
    exact = typical_weight(returns([4.0625, 5.1875, 6.0625, 7.3125, 8.1875]), "barbel")
    told = typical_weight(returns([5.0, 5.0, 5.0, 10.0, 10.0]), "barbel")
    assert (exact.round, told.round) == (0, 5)
    assert exact.low_kg < exact.median_kg < exact.high_kg
    by_hand = np.exp(np.mean(np.log([4.0625, 5.1875, 6.0625, 7.3125, 8.1875])))
    assert exact.median_kg / POUND_KG == pytest.approx(by_hand, rel=1e-3)
    assert told.high_kg / told.low_kg > exact.high_kg / exact.low_kg


def test_a_weight_that_few_anglers_stand_behind_is_not_told():
    assert (
        typical_weight(returns([4.0, 5.0, 6.0, 7.0, 8.0], anglers=2), "barbel") is None
    )
    assert typical_weight(returns([4.0] * 4), "barbel") is None
    assert typical_weight(returns([4.0] * 9), "chub") is None
