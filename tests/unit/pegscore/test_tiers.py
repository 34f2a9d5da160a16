"""Tiers: who cannot be told apart from the best."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegscore.errors import PegError
from pegscore.tiers import tiers


def test_pegs_whose_intervals_do_not_meet_have_a_tier_each():
    assert tiers([3.0, 1.0, 2.0], [2.9, 0.9, 1.9], [3.1, 1.1, 2.1]).tolist() == [
        1,
        3,
        2,
    ]


def test_a_chain_of_overlaps_is_cut_where_the_leader_is_no_longer_met():
    low, high = [8.0, 6.5, 5.0], [10.0, 8.5, 7.0]  # 1-2 meet, 2-3 meet, 1-3 do not
    assert tiers([9.0, 7.5, 6.0], low, high).tolist() == [1, 1, 2]


def test_a_peg_known_too_little_to_be_called_worse_is_not():
    assert tiers([5.0, 3.0, 2.0], [4.5, 2.8, 0.0], [5.5, 3.2, 4.6]).tolist() == [
        1,
        2,
        1,
    ]


def test_intervals_that_touch_share_a_tier_and_so_do_ties():
    assert tiers([2.0, 1.0], [1.5, 0.5], [2.5, 1.5]).tolist() == [1, 1]
    assert tiers([1.0, 1.0], [1.0, 1.0], [1.0, 1.0]).tolist() == [1, 1]


def test_what_is_not_known_is_told_no_tier():
    nan = np.nan
    found = tiers([nan, 1.0, 2.0, 3.0], [0.0, nan, 1.0, 2.5], [1.0, 2.0, nan, 3.5])
    assert found.tolist() == [0, 0, 0, 1]
    assert tiers([], [], []).tolist() == []


def test_an_interval_with_its_ends_swapped_or_missing_pegs_are_refused():
    with pytest.raises(PegError, match="swap its ends"):
        tiers([1.5], [2.0], [1.0])
    with pytest.raises(PegError, match="one value a peg"):
        tiers([1.5, 2.0], [1.0], [2.0])


@given(
    st.lists(
        st.tuples(st.floats(-5, 5), st.floats(0, 3), st.floats(0, 3)),
        min_size=1,
        max_size=30,
    )
)
def test_every_peg_meets_its_leader_and_none_of_the_leaders_before(rows):
    score, below, above = np.array(rows).T
    low, high = score - below, score + above
    found = tiers(score, low, high)
    assert set(found.tolist()) == set(range(1, found.max() + 1))
    for peg, tier in enumerate(found):
        for level in range(1, tier + 1):
            inside = np.flatnonzero(found == level)
            leader = inside[np.argmax(score[inside])]
            meets = low[peg] <= high[leader] and low[leader] <= high[peg]
            assert meets == (level == tier)
