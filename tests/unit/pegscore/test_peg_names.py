"""Pegs that were renumbered, and days that several visits tell of."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from pegscore.errors import ReturnsRefused
from pegscore.peg_names import read_renamed
from pegscore.returns import read_visits


def rows(**columns):
    table = {
        "visit": ["1", "2", "3", "4"],
        "date": pd.to_datetime(["2025-07-01"] * 3 + ["2025-07-02"]),
        "peg": ["14a", "15", "15", "15"],
        "hours": [4.0] * 4,
        "species": ["chub"] * 4,
        "count": [1, 2, 3, 4],
    }
    return pd.DataFrame(table | columns)


def test_old_names_are_read_as_the_new_ones(tmp_path):
    (tmp_path / "peg_names.toml").write_text('[renamed]\n"14a" = "15"\n', "utf-8")
    visits = read_visits(rows(), pegs=["15"], renamed=read_renamed(tmp_path))
    assert visits.table["peg"].tolist() == ["15"] * 4
    assert visits.notes == ()


def test_without_the_file_nothing_is_renamed(tmp_path):
    assert read_renamed(tmp_path) == {}
    visits = read_visits(rows(), pegs=["15"], renamed=read_renamed(tmp_path))
    assert len(visits) == 3
    assert "1 visits to no known peg" in visits.notes[0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[renamed]\n"1" = 5\n', "in quotes"),
        ('[renamed]\n"1" = "2"\n"2" = "3"\n', "renamed too"),
        ('[names]\n"1" = "2"\n', "more than"),
        ("renamed = 3\n", "more than"),
        ("[renamed\n", "not TOML"),
    ],
)
def test_a_faulty_file_is_refused_with_its_name(tmp_path, text, said):
    (tmp_path / "peg_names.toml").write_text(text, "utf-8")
    with pytest.raises(ReturnsRefused, match=said) as refused:
        read_renamed(tmp_path)
    assert str(refused.value).startswith("peg_names.toml: ")


def test_a_visit_takes_level_and_warmth_from_others_of_its_day():
    told = rows(level_m=[np.nan, 0.6, 0.7, np.nan], water_c=[15.0, np.nan, 17.0, 12.0])
    visits = read_visits(told)
    median = pytest.approx(0.65, abs=1e-12)  # of 0.6 and 0.7; rounding alone
    assert visits.table["level_m"].iloc[0] == median
    assert visits.table["water_c"].tolist() == [15.0, 16.0, 17.0, 12.0]
    assert any("1 visits took their level" in note for note in visits.notes)


def test_a_day_of_which_nobody_tells_stays_unknown():
    visits = read_visits(rows(level_m=[0.6, 0.6, 0.6, np.nan]))
    assert np.isnan(visits.table["level_m"].iloc[3])
    assert visits.notes == ()
