"""Catch per hour with exact limits, told only where no person shows through."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import poisson

from pegscore.catches import catch_rates, peg_effort, rate_interval, tellable
from pegscore.returns import read_visits


def visits_of(anglers: list[str], hours: list[float] | None = None):
    n = len(anglers)
    return read_visits(
        pd.DataFrame(
            {
                "visit": [str(i) for i in range(n)],
                "date": pd.date_range("2024-07-01", periods=n),
                "peg": "9",
                "hours": hours or [2.0] * n,
                "species": "chub",
                "count": 1,
                "angler": anglers,
            }
        )
    )


@pytest.mark.parametrize("caught", [1, 3, 10, 250])
def test_the_limits_leave_a_tenth_of_the_poisson_law_on_each_side(caught):
    low, high = rate_interval(caught, 1.0)
    np.testing.assert_allclose(poisson.sf(caught - 1, low), 0.1, rtol=1e-9)
    np.testing.assert_allclose(poisson.cdf(caught, high), 0.1, rtol=1e-9)


def test_twice_the_hours_halve_the_limits():
    one, two = rate_interval(4, 10.0), rate_interval(4, 20.0)
    np.testing.assert_allclose(np.array(one), 2 * np.array(two), rtol=1e-12)


def test_no_hours_give_no_rate():
    assert np.isnan(rate_interval(0, 0.0)).all()


def test_a_rate_is_told_where_five_visits_of_three_anglers_stand_behind_it():
    rates = catch_rates(visits_of(["a", "b", "c", "a", "b"]), "chub")
    assert rates.loc["9", "per_hour"] == 0.5
    assert rates.loc["9", "low"] < 0.5 < rates.loc["9", "high"]


@pytest.mark.parametrize(
    ("anglers", "hours"),
    [
        (["a", "b", "c", "a"], None),  # four visits
        (["a", "b", "a", "b", "a"], None),  # two anglers
        ([""] * 6, None),  # nobody named: might be one
        (["a", "b", "c", "a", "a"], [9.0, 1.0, 1.0, 9.0, 9.0]),  # one man's peg
    ],
)
def test_nothing_is_told_of_a_peg_behind_which_a_person_shows(anglers, hours):
    visits = visits_of(anglers, hours)
    rates = catch_rates(visits, "chub")
    assert not tellable(peg_effort(visits)).any()
    hidden = ["caught", "per_hour", "low", "high", "anglers"]
    assert rates.loc["9", hidden].isna().all()
    assert rates.loc["9", "visits"] == len(anglers)
