"""What people and machines read."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from layers.problems import Problem
from pegscore import screen
from pegscore.tables import safe_for_spreadsheets
from pegscore.units import length, pace


def test_unknown_numbers_are_null_in_json(capsys):
    screen.show_json({"a": np.float64("nan"), "b": pd.NA, "c": np.int64(3)})
    assert json.loads(capsys.readouterr().out) == {"a": None, "b": None, "c": 3}


def test_records_leave_the_geometry_out():
    table = pd.DataFrame({"peg": ["1"], "score": [np.nan]})
    assert screen.records(table) == [{"peg": "1", "score": None}]


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (1.0, "imperial", "3.3 ft"),
        (1.524, "imperial", "5.0 ft"),
        (1.0, "metric", "1.00 m"),
        (float("nan"), "imperial", "unknown"),
    ],
)
def test_lengths_read_in_either_unit(metres, units, text):
    assert length(metres, units) == text


def test_an_unknown_pace_is_called_unknown():
    assert pace(float("nan"), "metric") == "unknown"


def test_an_unsurveyed_bottom_is_called_unknown():
    row = {"gravel_share": float("nan"), "wet_share": 1.0, "substrate_known_share": 0}
    assert screen.main_bottom(row) == "unknown"


def test_the_share_of_wet_water_is_no_bottom():
    row = {"wet_share": 1.0, "substrate_known_share": 1.0, "sand_share": 0.6}
    assert screen.main_bottom(row) == "sand 60 %"


def test_refusals_come_before_warnings():
    parts = {"code": "x", "file": "a.csv", "what": "is odd", "way_out": "mend it"}
    lines = screen.problem_lines([Problem(**parts, refused=False), Problem(**parts)])
    assert [line.split()[0] for line in lines] == ["REFUSED", "warning"]


def test_a_complaint_is_one_line_whatever_it_holds(capsys):
    screen.complain(["two\nlines"])
    assert capsys.readouterr().err == "two lines\n"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\tx"])
def test_text_that_a_spreadsheet_would_run_is_defused(text):
    table = safe_for_spreadsheets(pd.DataFrame({"note": [text]}))
    assert table.loc[0, "note"] == f"'{text}"


def test_a_negative_number_stays_a_number():
    table = safe_for_spreadsheets(pd.DataFrame({"offset_m": [-1.5]}))
    assert table.loc[0, "offset_m"] == -1.5
