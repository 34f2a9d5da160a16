"""The ranker begins at the preferences, learns from returns and says what it knows."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import sklearn
import statsmodels.api as sm
from sklearn.model_selection import GroupKFold, cross_val_score
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import StandardScaler

from pegscore.errors import RankerRefused
from pegscore.ranker import PegRanker

PARTS = {"prior": "log_prior", "peg": "peg", "groups": ("angler",)}


def club(rng, *, visits=400, pegs=30, spread=0.5) -> pd.DataFrame:
    """Returns whose pegs differ by their preference and a secret of their own."""
    prior = rng.normal(-1.5, 0.6, pegs)
    secret = spread * rng.normal(size=pegs)
    skill = 0.4 * rng.normal(size=12)
    peg, angler = rng.integers(pegs, size=visits), rng.integers(12, size=visits)
    hours = rng.uniform(1.0, 8.0, visits)
    mean = hours * np.exp(0.8 + prior[peg] + secret[peg] + skill[angler])
    return pd.DataFrame(
        {
            "peg": [f"p{at}" for at in peg],
            "angler": [f"a{at}" for at in angler],
            "hours": hours,
            "fish": rng.negative_binomial(1.5, 1.5 / (1.5 + mean)),
            "log_prior": prior[peg],
            "secret": secret[peg],
            "depth_m": rng.uniform(0.5, 2.0, pegs)[peg],
            "water_c": rng.normal(14, 3, visits),
        }
    )


def fitted(table: pd.DataFrame, **options) -> PegRanker:
    ranker = PegRanker(features=("depth_m",), **(PARTS | options))
    return ranker.fit(
        table[ranker.columns()], table.fish / table.hours, exposure=table.hours
    )


def test_pegs_without_any_evidence_stand_in_the_order_of_the_preferences(rng):
    table = club(rng)
    ranker = fitted(table.assign(fish=1, hours=1.0), slope_sd=1e-6)
    new = pd.DataFrame(
        {
            "log_prior": [-2.0, -0.5, -1.0],
            "depth_m": np.nan,
            "peg": ["x", "y", "z"],
            "angler": "",
        }
    )
    assert np.argsort(ranker.log_rate(new)).tolist() == [0, 2, 1]
    gaps = np.diff(ranker.log_rate(new))
    np.testing.assert_allclose(gaps, [0.8 * 1.5, 0.8 * -0.5], rtol=1e-4)


def test_a_pegs_own_record_moves_it_towards_its_secret(rng):
    table = club(rng, visits=1500)
    ranker = fitted(table)
    pegs = table.drop_duplicates("peg").assign(angler="")
    told = ranker.explain(pegs[ranker.columns()])["peg"]
    assert np.corrcoef(told, pegs["secret"])[0, 1] > 0.7


def test_what_the_terms_add_sums_to_the_log_rate_exactly(rng):
    table = club(rng)
    ranker = fitted(table, conditions=("water_c",))
    told = ranker.explain(table[ranker.columns()])
    np.testing.assert_allclose(
        told.sum(axis=1), ranker.log_rate(table[ranker.columns()]), atol=1e-12
    )


def test_the_factors_of_an_answer_multiply_to_the_catch_per_hour(rng):
    table = club(rng)
    ranker = fitted(table, conditions=("water_c",))
    factors = np.exp(ranker.explain(table[ranker.columns()]))
    rate = ranker.predict(table[ranker.columns()])
    np.testing.assert_allclose(factors.prod(axis="columns"), rate, rtol=1e-12)


def test_a_peg_nobody_fished_gets_a_wide_interval_and_not_zero(rng):
    table = club(rng)
    ranker = fitted(table)
    known = table.iloc[[0]].assign(angler="")
    both = pd.concat([known, known.assign(peg="never")])[ranker.columns()]
    seen, unseen = ranker.log_rate_sd(both)
    assert unseen > seen
    assert ranker.predict(both)[1] > 0


def test_twice_the_hours_and_twice_the_fish_tell_the_same_rate(rng):
    table = club(rng)
    one = PegRanker(features=(), family="poisson", tol=1e-10, max_iter=300, **PARTS)
    rate = table.fish / table.hours
    with_hours = PegRanker(**one.get_params()).fit(
        table[one.columns()], rate, exposure=table.hours
    )
    as_weight = PegRanker(**one.get_params()).fit(
        table[one.columns()], rate, sample_weight=table.hours
    )
    # for Poisson alone, hours as a weight of the rate are an exact offset
    np.testing.assert_allclose(
        with_hours.predict(table[one.columns()]),
        as_weight.predict(table[one.columns()]),
        rtol=1e-5,
    )


def test_without_shrinkage_it_is_statsmodels_poisson_regression(rng):
    table = club(rng)
    columns = ["log_prior", "water_c"]
    ranker = PegRanker(
        features=(),
        conditions=tuple(columns),
        condition_sd=1e6,
        family="poisson",
        tol=1e-10,
    )
    ranker.fit(table[columns], table.fish / table.hours, exposure=table.hours)
    design = sm.add_constant(table[columns].to_numpy())
    theirs = sm.GLM(
        table.fish, design, family=sm.families.Poisson(), offset=np.log(table.hours)
    ).fit()
    np.testing.assert_allclose(
        ranker.predict(table[columns]), np.exp(design @ theirs.params), rtol=1e-6
    )


def test_nobody_in_particular_is_the_average_angler(rng):
    table = club(rng)
    ranker = fitted(table)
    rows = table.head(2).assign(angler=["", "a stranger"], peg="p0", log_prior=-1.0)
    rows["depth_m"] = 1.0
    one, other = ranker.log_rate(rows[ranker.columns()])
    assert one == other


def test_unknown_water_adds_nothing_and_widens_the_interval(rng):
    table = club(rng)
    ranker = fitted(table)
    rows = table.iloc[[0, 0]].assign(depth_m=[1.0, np.nan])[ranker.columns()]
    assert ranker.explain(rows)["depth_m"].iloc[1] == 0.0
    assert np.isfinite(ranker.log_rate(rows)).all()
    assert ranker.log_rate_sd(rows)[1] > 0.15


@pytest.mark.parametrize(
    ("options", "said"),
    [({"family": "normal"}, "normal"), ({"peg_sd": 0.0}, "peg_sd")],
)
def test_a_parameter_that_cannot_be_is_refused_in_fit(rng, options, said):
    with pytest.raises(RankerRefused, match=said):
        fitted(club(rng), **options)


def test_returns_without_a_fish_are_refused(rng):
    with pytest.raises(RankerRefused, match="no fish"):
        fitted(club(rng).assign(fish=0))


def test_hours_of_zero_are_refused():
    with pytest.raises(RankerRefused, match="above zero"):
        PegRanker().fit(np.ones((3, 1)), [1.0, 0.0, 2.0], exposure=[1.0, 0.0, 2.0])


@pytest.mark.slow
def test_hours_reach_it_through_a_pipeline_in_grouped_folds(rng):
    table = club(rng, visits=200)
    with sklearn.config_context(enable_metadata_routing=True):
        ranker = PegRanker().set_fit_request(exposure=True, sample_weight=True)
        model = make_pipeline(StandardScaler(), ranker)
        scores = cross_val_score(
            model,
            table[["log_prior", "depth_m"]].to_numpy(),
            table.fish / table.hours,
            cv=GroupKFold(3),
            params={"exposure": table.hours.to_numpy(), "groups": table.peg},
        )
    assert np.isfinite(scores).all()
