"""CSV files and spreadsheets as tables of text, with a spreadsheet's row numbers.

Nothing is guessed about the meaning of a cell here: ``1,25`` stays ``1,25``.
A table only says whether a comma in a number can be a decimal comma.
"""

from __future__ import annotations

import codecs
import csv
import io
import warnings
import zipfile
from dataclasses import dataclass
from typing import TYPE_CHECKING

import openpyxl
import pandas as pd
from openpyxl.utils.exceptions import InvalidFileException

from layers.cells import text_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from layers.problems import ProblemList

DELIMITERS = ",;\t|"
"""What can stand between cells; in case of a draw the first of them."""

SUFFIXES = (".csv", ".xlsx")
"""The kinds of table that are read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The cells of one file as text.

    Parameters
    ----------
    cells : DataFrame of str
        Columns as the file spells them, ``""`` for an empty cell; the index
        ``row`` counts as a spreadsheet does, the header being row 1.
    comma_decimals : bool
        Whether ``1,25`` can stand for 1.25: not in a file whose cells are
        separated by commas.
    """

    cells: pd.DataFrame
    comma_decimals: bool


def read_table(path: Path, problems: ProblemList) -> Table | None:
    """Read a CSV or the first sheet of an ``.xlsx`` as text.

    Returns
    -------
    Table or None
        None if the file holds no table; ``problems`` then says why.
    """
    if path.stat().st_size == 0:
        problems.refuse(
            "empty-file",
            path.name,
            "the file is empty (0 bytes)",
            "fill it, or delete it to go without",
        )
        return None
    if path.suffix.lower() == ".xlsx":
        rows, comma_decimals = _sheet_rows(path, problems), True
    else:
        rows, comma_decimals = _csv_rows(path, problems)
    cells = None if rows is None else _framed(rows, path.name, problems)
    return None if cells is None else Table(cells=cells, comma_decimals=comma_decimals)


def _csv_rows(
    path: Path, problems: ProblemList
) -> tuple[list[Sequence[str]] | None, bool]:
    text = _decoded(path.read_bytes(), path.name, problems)
    delimiter = find_delimiter(text)
    try:
        rows: list[Sequence[str]] = list(
            csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        )
    except csv.Error as error:
        problems.refuse(
            "unreadable",
            path.name,
            f"the file cannot be read as CSV ({error})",
            "save it again as CSV (UTF-8) or as .xlsx",
        )
        return None, False
    return rows, delimiter != ","


def find_delimiter(text: str) -> str:
    """Return what separates the cells of the header line.

    Examples
    --------
    >>> find_delimiter("x;y;depth_m")
    ';'
    >>> find_delimiter("peg")
    ','
    """
    header = text.lstrip("\r\n").partition("\n")[0]
    unquoted = "".join(header.split('"')[::2])
    return max(DELIMITERS, key=unquoted.count)


def _decoded(data: bytes, file: str, problems: ProblemList) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problems.warn(
            "not-utf8",
            file,
            f"the text is not UTF-8 (byte {error.start + 1}) and was read as "
            "Windows-1252",
            "check the accents in names, or save as CSV UTF-8",
        )
        return data.decode("cp1252", errors="replace")


def _sheet_rows(path: Path, problems: ProblemList) -> list[Sequence[str]] | None:
    try:
        with warnings.catch_warnings():
            # openpyxl warns of formatting that it drops; only cells matter here
            warnings.simplefilter("ignore")
            return _first_sheet(path)
    except (
        InvalidFileException,
        zipfile.BadZipFile,
        OSError,
        KeyError,
        ValueError,
        SyntaxError,  # a broken XML part
    ) as error:
        problems.refuse(
            "unreadable",
            path.name,
            f"the file cannot be read as a spreadsheet ({error})",
            "open it in a spreadsheet and save it again as .xlsx or CSV",
        )
        return None


def _first_sheet(path: Path) -> list[Sequence[str]]:
    book = openpyxl.load_workbook(
        path, read_only=True, data_only=True, keep_links=False
    )
    try:
        if not book.worksheets:
            return []
        sheet = book.worksheets[0]
        sheet.reset_dimensions()
        return [
            [text_of(value) for value in row]
            for row in sheet.iter_rows(values_only=True)
        ]
    finally:
        book.close()


def _framed(
    rows: Iterable[Sequence[str]], file: str, problems: ProblemList
) -> pd.DataFrame | None:
    stripped = [[cell.strip() for cell in row] for row in rows]
    header = _header(stripped[0] if stripped else [], file, problems)
    if header is None:
        return None
    body = {number: row for number, row in enumerate(stripped[1:], 2) if any(row)}
    if not body:
        problems.refuse(
            "no-rows",
            file,
            "the file has a header but no rows",
            "fill it, or delete it to go without",
        )
        return None
    _report_ragged(body, header, file, problems)
    width = len(header)
    filled = [(row + [""] * width)[:width] for row in body.values()]
    index = pd.Index(list(body), name="row")
    cells = pd.DataFrame(filled, index=index, columns=header, dtype=object)
    return _without_nameless(cells, file, problems)


def _header(names: list[str], file: str, problems: ProblemList) -> list[str] | None:
    if not any(names):
        problems.refuse(
            "no-header",
            file,
            "the first row names no columns",
            "put the column names into row 1",
            row=1,
        )
        return None
    lowered = [name.lower() for name in names if name]
    twice = sorted({name for name in lowered if lowered.count(name) > 1})
    for name in twice:
        problems.refuse(
            "duplicate-column",
            file,
            "the column is there twice",
            "keep one of them, or rename the other",
            row=1,
            column=name,
        )
    return None if twice else names


def _report_ragged(
    body: dict[int, list[str]], header: list[str], file: str, problems: ProblemList
) -> None:
    for number, row in body.items():
        if any(row[len(header) :]):
            problems.refuse(
                "ragged-row",
                file,
                f"the row has {len(row)} cells but the header has {len(header)}",
                "put text that holds the separator in quotes, and write decimals "
                "with a point",
                row=number,
            )


def _without_nameless(
    cells: pd.DataFrame, file: str, problems: ProblemList
) -> pd.DataFrame:
    named = [bool(name) for name in cells.columns]
    if (cells.loc[:, [not name for name in named]] != "").to_numpy().any():
        problems.warn(
            "nameless-column",
            file,
            "a column without a name holds values that are not used",
            "name it in row 1 if it matters",
            row=1,
        )
    return cells.loc[:, named]
