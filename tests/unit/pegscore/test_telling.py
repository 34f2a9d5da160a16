"""What a held-out peg's catch tells of its water."""

from __future__ import annotations

import numpy as np
import pytest

from pegscore.held_out import OWN_SPREAD, telling


def test_one_visit_of_two_fish_tells_as_the_law_has_it():
    told = telling(np.array([2.0]), np.array([1.0]), 0.5)
    # 1/2 of the count, 1/(0.5 x 1) of its clumping and the peg's own, by hand
    assert told[0] == pytest.approx(1 / (0.5 + 2.0 + 0.36), rel=1e-12)


def test_no_end_of_visits_tells_more_than_the_pegs_own_lets_through():
    visits = np.array([10.0, 1e3, 1e6])
    told = telling(3 * visits, visits, 1.2)
    assert np.all(np.diff(told) > 0)
    assert told[-1] < OWN_SPREAD**-2
    assert told[-1] == pytest.approx(OWN_SPREAD**-2, rel=1e-5)  # 1e-6 / 0.36 is left


def test_a_peg_expected_to_give_nothing_tells_next_to_nothing():
    told = telling(np.array([0.0, 1.0]), np.array([1.0, 1.0]), 1.2)
    assert told[0] < 1e-6 * told[1]
