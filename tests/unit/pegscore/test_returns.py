"""Returns become visits: blanks stay, the impossible goes, nobody is named."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from pegscore.errors import ReturnsRefused
from pegscore.returns import age_weight, read_visits


def rows(**columns) -> pd.DataFrame:
    n = len(columns["visit"])
    base = {
        "date": pd.to_datetime(["2024-07-01"] * n),
        "peg": ["1"] * n,
        "hours": [4.0] * n,
        "species": ["chub"] * n,
        "count": [1] * n,
    }
    return pd.DataFrame(base | columns)


def test_a_blank_visit_is_a_row_of_zeros():
    visits = read_visits(
        rows(visit=["a", "a", "b"], species=["chub", "Roach", ""], count=[2, 3, 0])
    )
    assert visits.counts.loc["b"].tolist() == [0.0, 0.0]
    assert visits.counts.loc["a", "roach"] == 3


def test_a_species_nobody_caught_is_all_zeros():
    visits = read_visits(rows(visit=["a", "b"]))
    assert visits.caught("barbel").tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("hours", 0.0, "hours"),
        ("hours", 30.0, "hours"),
        ("count", -1, "count"),
        ("count", np.nan, "count"),
        ("date", pd.NaT, "date"),
    ],
)
def test_impossible_visits_are_left_out_whole_and_counted(column, value, said):
    table = rows(visit=["a", "a", "b"], species=["chub", "roach", "chub"])
    table[column] = table[column].astype(object)
    table.loc[1, column] = value
    table["date"] = pd.to_datetime(table["date"])
    visits = read_visits(table)
    assert list(visits.table.index) == ["b"]
    assert visits.notes[0].startswith("1 visits")
    assert said in visits.notes[0]


def test_the_same_return_handed_in_twice_counts_once():
    visits = read_visits(rows(visit=["a", "b"], angler=["x", "x"]))
    assert list(visits.table.index) == ["a"]
    assert "twice" in visits.notes[0]
    assert "x" not in visits.notes[0].split()


def test_equal_returns_of_two_anglers_or_of_nobody_both_count():
    assert len(read_visits(rows(visit=["a", "b"], angler=["x", "y"]))) == 2
    assert len(read_visits(rows(visit=["a", "b"]))) == 2


def test_a_renamed_peg_keeps_its_record_and_a_strange_one_is_left_out():
    visits = read_visits(
        rows(visit=["a", "b"], peg=["old", "lake"]),
        pegs=["new"],
        renamed={"old": "new"},
    )
    assert visits.table["peg"].tolist() == ["new"]
    assert visits.notes == ("1 visits to no known peg were left out",)


def test_the_aim_of_a_visit_is_this_other_or_untold():
    visits = read_visits(
        rows(visit=["a", "b", "c"], target=["Chub", "barbel", ""], hours=[1, 2, 3])
    )
    assert visits.aim("chub").tolist() == ["this", "other", ""]


def test_march_belongs_to_the_season_that_began_the_year_before():
    dates = pd.to_datetime(["2024-03-14", "2024-06-16"])
    visits = read_visits(rows(visit=["a", "b"], date=dates))
    assert visits.table["season"].tolist() == [2023, 2024]


def test_conditions_not_told_are_unknown_not_zero():
    visits = read_visits(rows(visit=["a"]))
    assert np.isnan(visits.table.loc["a", "water_c"])


def test_a_return_from_the_future_weighs_no_more_than_todays():
    dates = pd.Series(pd.to_datetime(["2025-01-01"]))
    assert age_weight(dates, today=date(2024, 1, 1)).tolist() == [1.0]


def test_returns_without_hours_are_refused():
    with pytest.raises(ReturnsRefused, match="'hours'"):
        read_visits(rows(visit=["a"]).drop(columns="hours"))
