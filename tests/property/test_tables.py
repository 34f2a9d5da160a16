"""Tables survive being written and read, in any order and unit."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import openpyxl
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from layers.bankside import along_and_across
from layers.cells import moment, month_day, numbers
from layers.placement import Stretch
from layers.problems import ProblemList
from layers.sheet import Sheet
from layers.soundings_file import read_soundings
from layers.tables import Table, read_table

CELL = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8
)
# a spreadsheet takes a text that begins with = for a formula
PLAIN = CELL.filter(lambda text: not text.startswith("="))
ROWS = st.lists(st.tuples(PLAIN, PLAIN, PLAIN), min_size=1, max_size=6)
HEADER = ("a", "b", "c")
FINITE = st.floats(allow_nan=False, allow_infinity=False)
DEPTH = st.floats(0.1, 29.0)


def read(path: Path) -> list[list[str]]:
    problems = ProblemList()
    table = read_table(path, problems)
    assert table is not None, [problem.line() for problem in problems.found]
    assert table.cells.index.tolist() == list(range(2, 2 + len(table.cells)))
    return table.cells.to_numpy().tolist()


@given(ROWS, st.sampled_from(",;\t"))
def test_a_csv_gives_back_what_was_written(rows: list, delimiter: str):
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows([HEADER, *rows])
    with TemporaryDirectory() as home:
        path = Path(home) / "a.csv"
        path.write_text(text.getvalue(), encoding="utf-8", newline="")
        assert read(path) == [list(row) for row in rows]


@settings(max_examples=25)
@given(ROWS)
def test_a_spreadsheet_gives_back_what_a_csv_does(rows: list):
    with TemporaryDirectory() as home:
        book = openpyxl.Workbook()
        for row in (HEADER, *rows):
            book.active.append(row)
        book.save(Path(home) / "a.xlsx")
        with (Path(home) / "a.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([HEADER, *rows])
        assert read(Path(home) / "a.xlsx") == read(Path(home) / "a.csv")


@given(st.lists(FINITE, min_size=1))
def test_a_number_gives_back_its_very_value(values: list[float]):
    text = pd.Series([repr(value) for value in values], dtype=object)
    found = numbers(text, comma_decimals=False)
    assert found.value.tolist() == values
    assert not (found.unreadable | found.not_finite | found.comma).any()


@given(st.lists(st.decimals(-999, 999, places=2), min_size=1))
def test_a_decimal_comma_means_what_the_point_means(values: list):
    points = pd.Series([str(value) for value in values], dtype=object)
    commas = points.str.replace(".", ",")
    found = numbers(commas, comma_decimals=True).value
    assert found.tolist() == numbers(points, comma_decimals=False).value.tolist()


@given(st.lists(st.text(max_size=6), min_size=1))
def test_every_cell_is_a_number_or_empty_or_told(texts: list[str]):
    text = pd.Series([cell.strip() for cell in texts], dtype=object)
    found = numbers(text, comma_decimals=True)
    told = found.unreadable | found.not_finite | found.comma
    assert (found.value.notna() | told | (text == "")).all()
    assert not (found.value.notna() & told).any()


@given(
    st.dates(
        min_value=pd.Timestamp("1800-01-01").date(),
        max_value=pd.Timestamp("2200-12-31").date(),
    )
)
def test_an_iso_date_is_read_as_that_day(day):
    found = moment(day.isoformat())
    assert found is not None
    assert found.date() == day
    assert month_day(f"{day:%m-%d}") == (day.month, day.day)


def soundings(rows: list[tuple[float, float, float]], unit: str) -> pd.DataFrame:
    cells = pd.DataFrame(
        [[repr(value) for value in row] for row in rows],
        columns=["x", "y", f"depth_{unit}"],
        index=pd.RangeIndex(2, 2 + len(rows), name="row"),
        dtype=object,
    )
    problems = ProblemList()
    table = Table(cells=cells, comma_decimals=False)
    water = Polygon([(0, 0), (1000, 0), (1000, 100), (0, 100)])
    found = read_soundings(
        Sheet("soundings", "soundings.csv", table, problems), Stretch(water=water)
    )
    assert found is not None
    assert problems.refusals == []
    return found


PLACES = st.tuples(st.floats(0, 1000), st.floats(0, 100), DEPTH)


@given(st.lists(PLACES, min_size=1, max_size=20))
def test_feet_and_metres_give_equal_depths(rows: list):
    feet = [(x, y, depth_m / 0.3048) for x, y, depth_m in rows]
    in_feet, in_metres = soundings(feet, "ft"), soundings(rows, "m")
    # one division and one multiplication: two roundings
    np.testing.assert_allclose(in_feet.depth_m, in_metres.depth_m, rtol=4e-16, atol=0)


@given(st.lists(PLACES, min_size=2, max_size=20, unique=True), st.randoms())
def test_the_order_of_rows_does_not_matter(rows: list, random):
    mixed = list(rows)
    random.shuffle(mixed)
    by = ["easting", "northing", "depth_m"]
    pd.testing.assert_frame_equal(
        soundings(rows, "m")[by].sort_values(by).reset_index(drop=True),
        soundings(mixed, "m")[by].sort_values(by).reset_index(drop=True),
        check_exact=True,
    )


@given(st.lists(st.tuples(st.floats(1, 99), st.floats(-40, 40)), min_size=1))
def test_a_reversed_line_swaps_the_banks_and_counts_from_the_other_end(places: list):
    line = LineString([(0, 0), (100, 0)])
    east, north = np.array(places).T
    along, across = along_and_across(line, east, north)
    back, aside = along_and_across(line.reverse(), east, north)
    # lengths of 100 m in double precision
    np.testing.assert_allclose(along + back, 100, rtol=0, atol=1e-9)
    np.testing.assert_allclose(across, -aside, rtol=0, atol=1e-9)
