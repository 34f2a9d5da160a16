"""Straight lines between marked points, and what is no curve."""

from __future__ import annotations

import numpy as np
import pytest

from pegscore.curves import MARKS, Curve, CurvePoint, curve_faults
from pegscore.errors import PegError

HUMP = Curve(
    (
        CurvePoint(1.0, 0.2, "P"),
        CurvePoint(2.0, 1.0, "S"),
        CurvePoint(3.0, 1.0, "M"),
        CurvePoint(5.0, 0.0, "C"),
    ),
    ("somewhere",),
)


def test_a_curve_goes_straight_from_point_to_point():
    """A quarter of the way from 0.2 to 1.0 is 0.4; half way from 1 to 0 is 0.5."""
    found = HUMP([1.0, 1.25, 2.0, 2.5, 4.0, 5.0])
    # two or three roundings of numbers near one
    np.testing.assert_allclose(
        found, [0.2, 0.4, 1.0, 1.0, 0.5, 0.0], rtol=0, atol=1e-15
    )


def test_a_curve_is_level_beyond_its_ends():
    np.testing.assert_array_equal(HUMP([-np.inf, 0.0, 6.0, np.inf]), [0.2, 0.2, 0, 0])


def test_unknown_stays_unknown_and_does_not_spread():
    found = HUMP([[np.nan, 2.0], [3.0, np.nan]])
    np.testing.assert_array_equal(found, [[np.nan, 1.0], [1.0, np.nan]])


def test_single_precision_layers_are_read_in_double():
    assert HUMP(np.array([1.25], np.float32)).dtype == np.float64


def test_the_preferred_range_is_where_the_curve_stands_highest():
    assert HUMP.preferred == (2.0, 3.0)


def test_a_curve_that_never_reaches_one_still_prefers_its_best():
    low = Curve((CurvePoint(0.0, 0.1, "P"), CurvePoint(1.0, 0.6, "P")))
    assert low.preferred == (1.0, 1.0)


def test_a_curve_knows_its_marks():
    assert HUMP.marks == set("SMCP")
    assert set(MARKS) == {*"SMCP", "club"}


@pytest.mark.parametrize(
    ("points", "fault"),
    [
        ([], "0 points; a curve needs at least two"),
        ([[1.0, 0.5, "P"]], "1 points; a curve needs at least two"),
        ([[1.0, 0.5, "P"], [1.0, 0.6, "P"]], "x does not rise from 1.0 to 1.0"),
        ([[2.0, 0.5, "P"], [1.0, 0.6, "P"]], "x does not rise from 2.0 to 1.0"),
        ([[1.0, -0.1, "P"], [2.0, 0.6, "P"]], "suitability -0.1 lies outside"),
        ([[1.0, 1.1, "P"], [2.0, 0.6, "P"]], "suitability 1.1 lies outside"),
        ([[1.0, float("nan"), "P"], [2.0, 0.6, "P"]], "suitability nan lies outside"),
        ([[float("inf"), 0.5, "P"], [2.0, 0.6, "P"]], "x is inf; give a number"),
        ([["1", 0.5, "P"], [2.0, 0.6, "P"]], "x is '1'; give a number"),
        ([[1.0, 0.5, "Z"], [2.0, 0.6, "P"]], "mark 'Z' is not one of"),
        ([[1.0, 0.5, ["P"]], [2.0, 0.6, "P"]], r"mark ['P'] is not one of"),
        ([[1.0], [2.0, 0.6, "P"]], "point [1.0] is not [x, suitability, mark]"),
    ],
)
def test_what_is_no_curve_is_told_with_its_value(points, fault):
    assert any(told.startswith(fault) for told in curve_faults(points))


def test_every_fault_of_a_curve_is_told():
    assert len(curve_faults([["a", 2.0, "Z"], [2.0, 3.0, "P"]])) == 4


def test_a_point_without_a_mark_is_the_clubs():
    assert curve_faults([[1.0, 0.5], [2.0, 0.6]]) == []


def test_a_curve_made_in_code_is_held_to_the_same():
    with pytest.raises(PegError, match=r"x does not rise from 2\.0 to 1\.0"):
        Curve((CurvePoint(2.0, 0.5, "P"), CurvePoint(1.0, 0.6, "P")))
