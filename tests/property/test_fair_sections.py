"""Even plans and sections against every way of making them, tried one by one."""

from __future__ import annotations

from itertools import combinations, permutations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pegscore.fair_sections import even_window, split_sections
from pegscore.peg_choice import PegChoice, best_choice, splits_of

SUMS = {"rtol": 0, "atol": 1e-7}  # means of a handful of numbers up to 1

scores = st.integers(0, 20).map(lambda number: number / 20)


def line_of(values: list[float], along: list[int], spacing_m: int) -> PegChoice:
    """One bank of places in order."""
    place = np.sort(np.array(along, float))
    conflicts = np.abs(place[:, None] - place[None, :]) < spacing_m
    np.fill_diagonal(conflicts, val=False)
    count = len(values)
    return PegChoice(
        values=np.array(values),
        on_left=np.ones(count, bool),
        along_m=place,
        conflicts=conflicts,
        kept=np.zeros(count, bool),
        step_free=np.zeros(count, bool),
    )


@st.composite
def lines(draw) -> PegChoice:
    count = draw(st.integers(2, 12))
    many = {"min_size": count, "max_size": count}
    values = draw(st.lists(scores, **many))
    along = draw(st.lists(st.integers(0, 60), **many))
    return line_of(values, along, draw(st.integers(1, 15)))


@given(lines(), st.integers(1, 5))
def test_the_worst_peg_is_as_good_as_can_be_and_then_the_spread_least(choice, pegs):
    plans = [
        choice.values[list(places)]
        for places in combinations(range(len(choice.values)), pegs)
        if not choice.conflicts[np.ix_(places, places)].any()
    ]
    window = even_window(choice, pegs)
    if not plans:
        assert window is None
        return
    expected = max((one.min(), one.min() - one.max()) for one in plans)
    found = best_choice(choice.only(window), pegs)
    chosen = choice.values[window][found.places]
    even = (chosen.min(), chosen.min() - chosen.max())
    np.testing.assert_allclose(even, expected, **SUMS)


def test_a_good_peg_is_left_out_where_it_would_be_unfair():
    """0.9 stands out among 0.5, 0.6 and 0.5: three even pegs leave it."""
    choice = line_of([0.5, 0.9, 0.6, 0.5], [0, 20, 40, 60], 10)
    window = even_window(choice, 3)
    assert window.tolist() == [True, False, True, True]


@st.composite
def banks(draw) -> tuple[np.ndarray, np.ndarray, int]:
    sections = draw(st.integers(1, 4))
    pegs = draw(st.integers(sections, 11))
    left, _ = draw(st.sampled_from(splits_of(pegs, sections)))
    values = np.array(draw(st.lists(scores, min_size=pegs, max_size=pegs)))
    return values[:left], values[left:], sections


@given(banks())
def test_sections_are_as_even_as_by_trying_every_cut(world):
    left, right, sections = world
    size, longer = divmod(len(left) + len(right), sections)
    tried = []
    for sizes in set(permutations([size + 1] * longer + [size] * (sections - longer))):
        ends = np.cumsum(sizes)
        if len(left) and len(left) not in ends:
            continue
        both = np.concatenate([left, right])
        means = [part.mean() for part in np.split(both, ends[:-1])]
        tried.append((min(means), min(means) - max(means)))
    one, other = split_sections(left, right, sections)
    names = np.concatenate([one, other])
    assert (np.diff(names) >= 0).all()  # consecutive
    assert sorted(set(names)) == list(range(1, sections + 1))
    assert not set(one) & set(other)  # no section over both banks
    both = np.concatenate([left, right])
    means = [both[names == name].mean() for name in range(1, sections + 1)]
    assert np.ptp(np.bincount(names)[1:]) <= 1
    poorest, spread = max(tried)
    np.testing.assert_allclose(min(means), poorest, **SUMS)
    np.testing.assert_allclose(min(means) - max(means), spread, **SUMS)
