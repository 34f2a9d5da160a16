"""The exact plan against every subset of up to eighteen places, tried one by one."""

from __future__ import annotations

from itertools import combinations

import geopandas as gpd
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from pegscore.conflicts import (
    cliques_of,
    facing,
    last_compatible,
    matrix_of,
    too_close,
)
from pegscore.peg_choice import (
    DYNAMIC,
    HIGHS,
    PegChoice,
    best_choice,
    most_pegs,
    splits_of,
)

SUMS = {"rtol": 0, "atol": 1e-7}  # a handful of additions of numbers up to 1


@st.composite
def choices(draw, most: int = 12, *, across: bool = True) -> PegChoice:
    """Places on two straight banks, some kept, some step-free."""
    count = draw(st.integers(1, most))
    along = np.sort(draw(st.lists(st.integers(0, 60), min_size=count, max_size=count)))
    on_left = np.array(draw(st.lists(st.booleans(), min_size=count, max_size=count)))
    order = np.lexsort((along, ~on_left))
    along, on_left = along[order].astype(float), on_left[order]
    spacing_m = draw(st.integers(1, 25))
    reach_m = draw(st.integers(1, 20)) if across else 0
    apart = np.abs(along[:, None] - along[None, :])
    same = on_left[:, None] == on_left[None, :]
    conflicts = np.where(same, apart < spacing_m, apart < reach_m)
    np.fill_diagonal(conflicts, val=False)
    kept = np.zeros(count, bool)
    for place in draw(st.lists(st.integers(0, count - 1), max_size=3, unique=True)):
        kept[place] = not conflicts[place][kept].any()
    values = draw(st.lists(st.floats(0, 1), min_size=count, max_size=count))
    free = draw(st.lists(st.booleans(), min_size=count, max_size=count))
    return PegChoice(
        values=np.array(values),
        on_left=on_left,
        along_m=along,
        conflicts=conflicts,
        kept=kept,
        step_free=np.array(free),
        sections=draw(st.integers(0, 3)),
    )


def keeps_rules(choice: PegChoice, places: tuple[int, ...], step_free: int) -> bool:
    chosen = list(places)
    if choice.conflicts[np.ix_(chosen, chosen)].any():
        return False
    if not set(np.flatnonzero(choice.kept)) <= set(chosen):
        return False
    if choice.step_free[chosen].sum() < step_free:
        return False
    return not choice.sections or splits_into(
        int(choice.on_left[chosen].sum()), len(chosen), choice.sections
    )


def splits_into(on_left: int, pegs: int, sections: int) -> bool:
    """Try every way to give the sections their sizes and banks."""
    size, longer = divmod(pegs, sections)
    sizes = [size + 1] * longer + [size] * (sections - longer)
    totals = {0}
    for one in sizes:
        totals |= {total + one for total in totals}
    return on_left in totals


def brute_force(choice: PegChoice, pegs: int, step_free: int) -> float | None:
    found = [
        float(choice.values[list(places)].sum())
        for places in combinations(range(len(choice.values)), pegs)
        if keeps_rules(choice, places, step_free)
    ]
    return max(found, default=None)


def assert_is_best(choice: PegChoice, pegs: int, step_free: int) -> None:
    expected = brute_force(choice, pegs, step_free)
    found = best_choice(choice, pegs, step_free)
    if expected is None:
        assert found is None
        return
    assert found is not None
    assert len(found.places) == pegs == len(set(found.places))
    assert keeps_rules(choice, tuple(found.places), step_free)
    np.testing.assert_allclose(found.value, expected, **SUMS)
    assert found.gap == 0.0


@given(choices(across=False), st.integers(1, 6), st.integers(0, 3))
def test_the_dynamic_programme_is_as_good_as_trying_everything(choice, pegs, free):
    assert_is_best(choice, pegs, min(free, pegs))


@given(choices(), st.integers(1, 6), st.integers(0, 3))
def test_pegs_that_face_each_other_are_planned_as_well_as_by_trying(choice, pegs, free):
    assert_is_best(choice, pegs, min(free, pegs))


@pytest.mark.slow
@given(choices(18), st.integers(1, 5), st.integers(0, 2))
def test_eighteen_places_are_planned_as_well_as_by_trying(choice, pegs, free):
    assert_is_best(choice, pegs, min(free, pegs))


@given(choices(10), st.integers(0, 3))
def test_the_largest_number_is_the_largest_that_trying_finds(choice, free):
    least = max(choice.sections, 1, free)
    numbers = [
        pegs
        for pegs in range(least, len(choice.values) + 1)
        if brute_force(choice, pegs, free) is not None
    ]
    expected = max(numbers, default=-1)
    found, at_most = most_pegs(choice, free)
    assert found == at_most
    # fewer pegs than sections or wishes are refused before anything is counted
    assert found == expected or (expected == -1 and found < least)


@given(choices(across=False))
def test_both_solvers_agree_on_one_bank_at_a_time(choice):
    """The same places, once as they are and once with a pair that face each other."""
    found = best_choice(choice, 2)
    joined = choice.conflicts.copy()
    left, right = np.flatnonzero(choice.on_left), np.flatnonzero(~choice.on_left)
    if len(left) and len(right) and not (choice.kept[left[0]] & choice.kept[right[0]]):
        joined[left[0], right[0]] = joined[right[0], left[0]] = True
        other = PegChoice(
            values=choice.values,
            on_left=choice.on_left,
            along_m=choice.along_m,
            conflicts=joined,
            kept=choice.kept,
            step_free=choice.step_free,
            sections=choice.sections,
        )
        bound = best_choice(other, 2)
        if bound is not None:
            assert found is not None
            assert bound.value <= found.value + 1e-7


@given(choices())
def test_groups_hold_every_conflict_and_nothing_else(choice):
    groups = cliques_of(choice.conflicts, choice.along_m).toarray() > 0
    together = (groups.T.astype(int) @ groups.astype(int)) > 0
    np.fill_diagonal(together, val=False)
    assert (together == choice.conflicts).all()


def test_three_neighbours_are_planned_as_by_hand():
    """Values 2, 3, 2; neighbours conflict: two pegs are worth 4, one is worth 3."""
    choice = PegChoice(
        values=np.array([2.0, 3.0, 2.0]),
        on_left=np.ones(3, bool),
        along_m=np.arange(3.0),
        conflicts=matrix_of(np.array([[0, 1], [1, 2]]), 3),
        kept=np.zeros(3, bool),
        step_free=np.array([False, True, False]),
    )
    two = best_choice(choice, 2)
    assert two is not None
    assert (two.places.tolist(), two.value, two.method) == ([0, 2], 4.0, DYNAMIC)
    assert best_choice(choice, 1).value == 3.0
    assert best_choice(choice, 2, 1) is None  # the step-free one is in the middle
    assert most_pegs(choice) == (2, 2)
    assert most_pegs(choice, 1) == (1, 1)


def test_facing_pegs_are_planned_as_by_hand():
    """Left 0.9 and 0.8, right 0.7: the right one faces the better left one only."""
    choice = PegChoice(
        values=np.array([0.9, 0.8, 0.7]),
        on_left=np.array([True, True, False]),
        along_m=np.array([0.0, 30.0, 1.0]),
        conflicts=matrix_of(np.array([[0, 2]]), 3),
        kept=np.zeros(3, bool),
        step_free=np.zeros(3, bool),
    )
    two = best_choice(choice, 2)
    assert two is not None
    assert (two.places.tolist(), two.method) == ([0, 1], HIGHS)
    assert most_pegs(choice) == (2, 2)
    assert best_choice(choice, 3) is None


@pytest.mark.parametrize(
    ("pegs", "sections", "allowed"),
    [(4, 0, 5), (6, 2, 3), (6, 3, 4), (7, 3, 6), (3, 3, 4)],
)
def test_splits_are_counted_as_by_hand(pegs, sections, allowed):
    """Seven in three sections of 2, 2, 3: 0, 2, 3, 4, 5 or 7 on the left."""
    assert len(splits_of(pegs, sections)) == allowed
    assert all(sum(split) == pegs for split in splits_of(pegs, sections))


def test_a_bank_that_doubles_back_is_not_planned_by_neighbours_alone():
    pairs = np.array([[0, 2]])  # 0 and 2 face each other across a narrow inlet
    assert last_compatible(matrix_of(pairs, 3)) is None


def test_spacing_is_a_straight_line_on_one_bank_to_the_millimetre():
    east = np.array([0.0, 10.0, 19.9, 5.0])
    bank = np.array(["left", "left", "left", "right"], object)
    assert too_close(east, np.zeros(4), bank, 10.0).tolist() == [[1, 2]]


def test_swims_that_only_touch_do_not_face_each_other():
    swims = gpd.GeoSeries([box(0, 5, 10, 10), box(0, 0, 10, 5), box(5, 0, 15, 6)])
    bank = np.array(["left", "right", "right"], object)
    assert facing(swims, bank).tolist() == [[0, 2]]
