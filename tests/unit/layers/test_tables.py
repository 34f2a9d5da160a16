"""Tables of text: encodings, separators, row numbers."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest

from layers.problems import ProblemList
from layers.tables import find_delimiter, read_table


def table(path: Path, data: str | bytes):
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    problems = ProblemList()
    return read_table(path, problems), problems


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_byte_order_mark_is_no_part_of_the_first_name(tmp_path: Path, encoding: str):
    found, problems = table(tmp_path / "a.csv", "peg,note\n1,pré\n".encode(encoding))
    assert problems.found == []
    assert found.cells.columns.tolist() == ["peg", "note"]
    assert found.cells.note.tolist() == ["pré"]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_found_in_the_header(tmp_path: Path, separator: str):
    text = "a,b\n1,2\n".replace(",", separator)
    found, _ = table(tmp_path / "a.csv", text)
    assert found.cells.to_numpy().tolist() == [["1", "2"]]
    assert found.comma_decimals == (separator != ",")


def test_a_separator_in_a_quoted_name_does_not_count():
    assert find_delimiter('"a;b;c;d",e,f') == ","


def test_row_numbers_are_those_of_a_spreadsheet(tmp_path: Path):
    found, _ = table(tmp_path / "a.csv", 'a,b\n1,"two\nlines"\n\n,\n5,x\n')
    assert found.cells.index.tolist() == [2, 5]
    assert found.cells.a.tolist() == ["1", "5"]


def test_a_short_row_is_filled_with_empty_cells(tmp_path: Path):
    found, problems = table(tmp_path / "a.csv", "a,b,c\n1\n")
    assert found.cells.iloc[0].tolist() == ["1", "", ""]
    assert problems.found == []


def test_windows_line_ends_and_spaces_are_no_part_of_a_cell(tmp_path: Path):
    found, _ = table(tmp_path / "a.csv", " a , b \r\n 1 ,\u00a02 \r\n")
    assert found.cells.columns.tolist() == ["a", "b"]
    assert found.cells.iloc[0].tolist() == ["1", "2"]


def test_values_in_a_column_without_a_name_are_warned_of(tmp_path: Path):
    found, problems = table(tmp_path / "a.csv", "a,,\n1,x,\n")
    assert found.cells.columns.tolist() == ["a"]
    assert [problem.code for problem in problems.warnings] == ["nameless-column"]


def test_the_cells_of_a_spreadsheet_become_the_text_of_a_csv(tmp_path: Path):
    book = openpyxl.Workbook()
    book.active.append(["a", "b", "c", "d", "e"])
    book.active.append([1, 2.5, True, dt.datetime(2024, 5, 3), None])  # noqa: DTZ001  # a spreadsheet's dates know no zone
    book.save(tmp_path / "a.xlsx")
    problems = ProblemList()
    found = read_table(tmp_path / "a.xlsx", problems)
    assert found is not None
    assert found.cells.iloc[0].tolist() == ["1", "2.5", "yes", "2024-05-03", ""]


def test_a_cell_beyond_the_limit_of_csv_is_refused(tmp_path: Path):
    found, problems = table(tmp_path / "a.csv", "a\n" + "x" * 200_000 + "\n")
    assert found is None
    assert [problem.code for problem in problems.found] == ["unreadable"]


def test_five_million_soundings_are_refused_with_an_estimate_before_they_are_read(
    tmp_path,
):
    path = tmp_path / "soundings.csv"
    row = b"612345.67,301234.56,1.23\n"
    path.write_bytes(b"x,y,depth_m\n" + row * 3000)
    with path.open("r+b") as file:
        file.truncate(5_000_000 * len(row))  # a sparse file: nothing more is written
    problems = ProblemList()
    assert read_table(path, problems) is None
    (told,) = problems.found
    assert told.code == "too-large"
    # 64 KB hold 2,621 rows of 25 bytes, the header among them: within a thousandth
    rows = float(told.what.split("about ")[1].split(" rows")[0].replace(",", ""))
    assert rows == pytest.approx(5_000_000, rel=2e-3)
    assert "GB of memory" in told.what
