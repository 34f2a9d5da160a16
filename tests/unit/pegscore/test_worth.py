"""What a measurement is worth, against answers on paper."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegscore.error_fields import ErrorLattice
from pegscore.worth import Plan, chosen_mean, slopes

DRAWS = 40_000


def one_unsure_peg(spread, noise, seed=1):
    """Two pegs of equal mean; the first unsure by ``spread``, one site that sees it."""
    rng = np.random.default_rng(seed)
    error = rng.standard_normal(DRAWS)
    drawn = np.zeros((1, DRAWS, 2))
    drawn[0, :, 0] = spread * (error - error.mean())
    seen = (error + noise * rng.standard_normal(DRAWS))[:, None]
    return Plan(drawn, seen, np.ones((1, 2), bool), top=1)


@pytest.mark.parametrize("spread", [0.1, 0.4])
@pytest.mark.parametrize("noise", [0.0, 1.0, 3.0])
def test_the_worth_of_one_normal_doubt_is_the_textbooks(spread, noise):
    # max(N(0, s^2), 0) has mean s / sqrt(2 pi); noise leaves s of the spread
    left = spread / np.sqrt(1.0 + noise**2)
    exact = left / np.sqrt(2 * np.pi)
    # the mean of 40,000 halved normals: a standard error of 0.58 s / 200; four of them
    assert one_unsure_peg(spread, noise).gain(0) == pytest.approx(
        exact, abs=4 * 0.58 * spread / 200
    )


def test_what_is_known_is_worth_nothing_twice():
    plan = one_unsure_peg(0.3, 0.0)
    plan.pick(0)
    assert plan.gain(0) == pytest.approx(0.0, abs=1e-9)  # rounding alone


def test_a_site_out_of_reach_is_worth_nothing():
    plan = one_unsure_peg(0.3, 0.0)
    plan.near = np.zeros((1, 2), bool)
    assert plan.gain(0) == 0.0
    assert plan.moved(0).tolist() == [0.0, 0.0]


def test_picking_one_of_two_equal_sites_makes_the_other_worthless():
    rng = np.random.default_rng(2)
    error = rng.standard_normal(DRAWS)
    drawn = np.stack([0.3 * error, np.zeros(DRAWS)], axis=1)[None]
    plan = Plan(drawn, np.stack([error, error], axis=1), np.ones((2, 2), bool), top=1)
    assert plan.gain(1) > 0.1
    plan.pick(0)
    assert plan.gain(1) == pytest.approx(0.0, abs=1e-9)  # rounding alone


@given(st.integers(1, 6), st.integers(0, 10_000))
def test_the_chosen_are_the_best(top, seed):
    scores = np.random.default_rng(seed).random((3, 6))
    expected = np.sort(scores, axis=1)[:, ::-1][:, :top].mean(axis=1)
    # the same numbers summed in another order
    np.testing.assert_allclose(chosen_mean(scores, top), expected, rtol=1e-12)


def test_slopes_are_those_of_least_squares():
    rng = np.random.default_rng(4)
    seen = rng.standard_normal((500, 3))
    drawn = seen @ rng.standard_normal((3, 2)) + rng.standard_normal((500, 2))
    seen, drawn = seen - seen.mean(axis=0), drawn - drawn.mean(axis=0)
    found = slopes(drawn, seen, np.ones((3, 2), bool))
    for site in range(3):
        for peg in range(2):
            line = np.polyfit(seen[:, site], drawn[:, peg], 1)[0]
            assert found[site, peg] == pytest.approx(line, rel=1e-9)  # rounding


def test_fields_have_the_variance_and_correlation_they_promise():
    lattice = ErrorLattice.over(200.0, 8.0, step_m=10.0, lane_m=4.0)
    field = lattice.draw(
        20_000, along_m=25.0, across_m=6.0, rng=np.random.default_rng(5)
    )
    along_m, across_m = lattice.places()
    here = int(lattice.nearest(100.0, 0.0))
    found = (field * field[:, [here]]).mean(axis=0)
    promised = np.exp(-np.abs(along_m - 100.0) / 25.0 - np.abs(across_m) / 6.0)
    # a product of unit normals has a standard error of at most sqrt(2 / 20,000)
    np.testing.assert_allclose(found, promised, atol=4.5 * np.sqrt(2 / 20_000))


@given(st.floats(-50.0, 400.0), st.floats(-30.0, 30.0))
def test_the_nearest_node_is_the_nearest(chainage_m, offset_m):
    lattice = ErrorLattice.over(200.0, 8.0, step_m=10.0, lane_m=4.0)
    along_m, across_m = lattice.places()
    found = lattice.nearest(chainage_m, offset_m)
    away = np.hypot(along_m - chainage_m, across_m - offset_m)
    assert away[found] == pytest.approx(away.min(), abs=1e-9)  # rounding
