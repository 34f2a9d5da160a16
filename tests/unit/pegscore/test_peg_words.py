"""Ties said honestly, levels and walks in words, and what a wish leaves out."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import Point

from pegscore.errors import PegError
from pegscore.peg_words import level_words, tie_lines, walk_words
from pegscore.walks import walk_lengths
from pegscore.wishes import Wishes

NAN = float("nan")


def pegs(*tiers: int) -> list[dict]:
    return [{"peg": str(n), "tier": tier} for n, tier in enumerate(tiers, 1)]


@pytest.mark.parametrize(
    ("tiers", "shown", "lines"),
    [
        ((1, 2, 3), 3, []),
        ((1, 1, 2), 3, ["Pegs 1 and 2 cannot be told apart."]),
        (
            (1, 1, 1, 1),
            2,
            ["Pegs 1 and 2 cannot be told apart, nor from 2 others not shown."],
        ),
        ((1, 1), 1, ["Peg 1 cannot be told apart from one other not shown."]),
        ((1, 1, 1), 1, ["Peg 1 cannot be told apart from 2 others not shown."]),
        ((0, 0), 2, []),  # pegs without a score are not alike, they are unknown
        (
            (1, 1, 2, 2),
            4,
            [
                "Pegs 1 and 2 cannot be told apart.",
                "Pegs 3 and 4 cannot be told apart.",
            ],
        ),
    ],
)
def test_pegs_that_cannot_be_told_apart_are_called_so(tiers, shown, lines):
    everyone = pegs(*tiers)
    assert tie_lines(everyone[:shown], everyone) == lines


def test_a_long_tie_is_counted_not_listed():
    everyone = pegs(*([1] * 12))
    (line,) = tie_lines(everyone, everyone)
    assert line == "Pegs 1, 2, 3, 4, 5, 6, 7, 8 and 4 more cannot be told apart."


def test_levels_are_told_in_the_readers_units():
    row = {"better_above_m": 0.75, "worse_below_m": 0.5, "worse_above_m": NAN}
    assert level_words(row, "metric", levels=2) == (
        "Level: better above about 0.75 m; worse below about 0.50 m."
    )
    assert "2.5 ft" in level_words(row, "imperial", levels=2)
    assert "no clear change" in level_words({}, "metric", levels=2)
    assert level_words(row, "metric", levels=0) == ""


@pytest.mark.parametrize(
    ("row", "units", "text"),
    [
        (
            {"walk_m": 90.0, "walk_basis": "club", "step_free": "yes"},
            "metric",
            "Walk: 90 m, step-free.",
        ),
        (
            {"walk_m": 91.44, "walk_basis": "straight line", "step_free": "unknown"},
            "imperial",
            "Walk: at least 100 yd (straight line from the parking), steps not known.",
        ),
        (
            {"walk_m": NAN, "walk_basis": "", "step_free": "no"},
            "metric",
            "Walk: length not known, not step-free.",
        ),
    ],
)
def test_a_walk_says_who_measured_it(row, units, text):
    assert walk_words(row, units) == text


def seats(**columns) -> gpd.GeoDataFrame:
    points = [Point(0, 0), Point(30, 40)]
    return gpd.GeoDataFrame(
        columns, index=["1", "2"], geometry=points, crs="EPSG:27700"
    )


def parking() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"kind": ["parking", "path"]},
        geometry=[Point(0, 0), Point(30, 40)],
        crs="EPSG:27700",
    )


def test_the_clubs_walk_wins_and_a_straight_line_stands_in():
    """3-4-5: the second peg is 50 m from the parking."""
    found = walk_lengths(seats(walk_m=[120.0, np.nan]), parking())
    assert found["walk_m"].tolist() == [120.0, 50.0]
    assert found["walk_basis"].tolist() == ["club", "straight line"]


def test_without_parking_or_figure_no_walk_is_made_up():
    for places in (None, parking()[1:]):
        found = walk_lengths(seats(), places)
        assert found["walk_m"].isna().all()
        assert found["walk_basis"].tolist() == ["", ""]


def rows() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "peg": ["1", "2", "3", "4"],
            "rank": [1, 2, 3, 4],
            "step_free": ["yes", "no", "unknown", "yes"],
            "walk_m": [100.0, 50.0, NAN, 300.0],
        }
    )


def test_unknown_steps_are_not_taken_for_step_free():
    shown, told = Wishes(step_free=True).of(rows())
    assert shown["peg"].tolist() == ["1", "4"]
    assert shown["rank"].tolist() == [1, 4]
    assert told == ["Only pegs step-free: 2 of 4; of 1 it is not known."]


def test_wishes_add_up():
    shown, told = Wishes(step_free=True, within_m=100.0).of(rows())
    assert shown["peg"].tolist() == ["1"]
    assert len(told) == 2
    assert Wishes().of(rows())[1] == []


@pytest.mark.parametrize("within_m", [-1.0, NAN, float("inf")])
def test_a_walk_that_is_no_length_is_refused(within_m):
    with pytest.raises(PegError, match="give metres"):
        Wishes(within_m=within_m)
