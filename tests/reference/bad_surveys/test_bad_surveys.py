"""Every spoilt survey ends in a clear message or a stated repair.

Never in a traceback, never in another answer that nobody was told of, and never with
a file of the club's changed. What must be said of each is declared with it.
"""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import cases_cells
import cases_folder
import cases_shapes
import cases_tables
import pytest
from case import PROGRAMMER, Case
from clean_survey import assert_same_survey, write_clean

from layers.problems import Problem
from layers.river import Survey
from layers.survey import check_survey

CASES = {
    **cases_cells.CASES,
    **cases_tables.CASES,
    **cases_shapes.CASES,
    **cases_folder.CASES,
}


@pytest.fixture(scope="module")
def clean_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_clean(tmp_path_factory.mktemp("bad") / "clean")


@pytest.fixture(scope="module")
def clean(clean_folder: Path) -> Survey:
    problems, survey = check_survey(clean_folder)
    assert [one.line() for one in problems.found] == []
    return survey


def contents(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and path.resolve().is_relative_to(folder)
    }


def told(problems: list[Problem], case: Case) -> bool:
    """Whether one problem, or several of one file together, say what must be said."""
    return any(
        all(word in one.line() for word in case.words)
        and case.file in ("*", one.file)
        and one.refused == (case.outcome == "refused")
        and (case.row is None or one.row == case.row)
        and (case.column is None or one.column == case.column)
        for one in problems
    )


def test_there_are_at_least_three_hundred_distinct_cases():
    parts = (cases_cells, cases_tables, cases_shapes, cases_folder)
    assert sum(len(part.CASES) for part in parts) == len(CASES), "a name is used twice"
    assert len(CASES) >= 300


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_bad_survey_is_told_of_or_repaired(
    case: Case, clean_folder: Path, clean: Survey, tmp_path: Path
):
    folder = Path(shutil.copytree(clean_folder, tmp_path / "survey"))
    case.spoil(folder)
    before = contents(folder)
    problems, survey = check_survey(folder)
    assert contents(folder) == before, "the club's files were changed"
    lines = "\n".join(one.line() for one in problems.found)
    assert not PROGRAMMER.search(lines), lines
    assert all(one.file and one.what and one.way_out for one in problems.found)
    if case.outcome != "repaired":
        assert told(problems.found, case), lines
    if case.outcome == "refused":
        assert survey is None
        return
    assert survey is not None, lines
    assert_same_survey(survey, clean, case)
