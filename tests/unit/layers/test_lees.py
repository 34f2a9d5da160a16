"""Shadows on graph paper."""

from __future__ import annotations

import numpy as np

from layers.lees import find_lees


def banked(sections=80, width=20):
    """Open water between two dry nodes."""
    wet = np.zeros((sections, width + 2), bool)
    wet[:, 1:-1] = True
    return wet


def test_open_water_between_straight_banks_has_no_lee():
    wet = banked()
    assert not find_lees(~wet, wet, step_m=1.0).any()


def test_banks_that_part_slower_than_one_in_five_make_no_lee():
    wet = np.zeros((100, 40), bool)
    for section in range(100):
        wet[section, 20 - 5 - section // 10 : 20 + 5 + section // 10] = True  # 1 in 10
    assert not find_lees(~wet, wet, step_m=1.0).any()


def test_a_bay_is_sheltered_outside_the_line_from_its_upper_corner():
    """6 m deep and 20 m long: the line from its corner is 4 m out where it ends."""
    wet = banked()
    wet[:, 15:21] = False
    wet[30:50, 15:21] = True
    lee = find_lees(~wet, wet, step_m=1.0)
    assert not lee[:30].any()
    assert not lee[50:].any()
    # k sections into the bay the line is k/5 out: whole nodes beyond it are sheltered
    for section in range(30, 50):
        out = (section - 29) / 5
        expected = [n for n in range(15, 21) if n - 14.5 > out]
        assert np.flatnonzero(lee[section]).tolist() == expected


def test_the_shadow_of_an_island_closes_from_both_sides():
    """8 m wide: each half is 4 m from the open water, so 20 m long in the middle."""
    wet = banked()
    wet[20:30, 7:15] = False
    lee = find_lees(~wet, wet, step_m=1.0)
    rows = np.flatnonzero(lee.any(axis=1))
    assert rows[0] == 30
    assert (
        abs((rows[-1] - 29) - 5 * 4) <= 3
    )  # half a node of width, five nodes of length
    widths = lee[30:50].sum(axis=1)
    assert np.all(np.diff(widths) <= 0)


def test_a_stone_smaller_than_two_metres_or_two_cells_makes_no_lee():
    for step_m, length in ((1.0, 1), (2.0, 1)):
        wet = banked()
        wet[10, 1 : 1 + length] = False
        assert not find_lees(~wet, wet, step_m=step_m).any()


def test_unknown_water_throws_no_shadow_and_gets_no_mark():
    wet = banked()
    dry = ~wet
    wet[10:20, 1:9] = False  # neither wet nor dry
    assert not find_lees(dry, wet, step_m=1.0).any()
    wet[:, 1:3] = False
    dry[5, 1:9] = True
    lee = find_lees(dry, wet, step_m=1.0)
    assert lee.any()
    assert not lee[:, 1:3].any()
