"""CSV files and spreadsheets as tables of text, with a spreadsheet's row numbers.

Nothing is guessed about the meaning of a cell here: ``1,25`` stays ``1,25``.
A table only says whether a comma in a number can be a decimal comma.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from layers.cells import trimmed
from layers.spreadsheets import sheet_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from layers.problems import ProblemList

DELIMITERS = ",;\t|"
"""What can stand between cells; in case of a draw the first of them."""

ZIP_START = b"PK\x03\x04"
SEPARATOR_LINE = re.compile(r"\A\ufeff?sep=.\r?\n", re.IGNORECASE)
"""A first line by which one spreadsheet program tells itself the separator."""

MOST_MB = 64
"""A larger table is refused: it holds some 2.7 million soundings, and an old laptop has
not the memory to check them (our own choice)."""

GB_A_GB = 24
"""Memory over file size while a table is held as text, measured on 500,000 soundings;
checking it takes more."""

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
    if path.stat().st_size > MOST_MB * 2**20:
        _refuse_size(path, problems)
        return None
    if path.suffix.lower() == ".xlsx":
        rows, comma_decimals = sheet_rows(path, problems), True
    else:
        rows, comma_decimals = _csv_rows(path, problems)
    cells = None if rows is None else _framed(rows, path.name, problems)
    return None if cells is None else Table(cells=cells, comma_decimals=comma_decimals)


def _refuse_size(path: Path, problems: ProblemList) -> None:
    """Refuse a table that memory may not hold, with an estimate of its rows."""
    size = path.stat().st_size
    with path.open("rb") as file:
        start = file.read(2**16)
    about = size * max(start.count(b"\n"), 1) / len(start)
    problems.refuse(
        "too-large",
        path.name,
        f"the file holds {size / 2**20:,.0f} MB, about {about:,.0f} rows, and would "
        f"take {GB_A_GB * size / 2**30:.1f} GB of memory or more; {MOST_MB} MB can be "
        "read",
        "split the stretch, or thin the rows to one a metre",
    )


def _csv_rows(
    path: Path, problems: ProblemList
) -> tuple[list[Sequence[str]] | None, bool]:
    data = path.read_bytes()
    text = _decoded(data, path.name, problems) if _is_text(data, path, problems) else ""
    if "\x00" in text:
        _refuse_nul(text, path.name, problems)
        return None, False
    if not text:
        return (None if problems.refusals else []), False
    text = SEPARATOR_LINE.sub("", text, count=1)
    delimiter = find_delimiter(text)
    try:
        rows: list[Sequence[str]] = list(
            csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        )
    except csv.Error as error:
        _refuse_csv(str(error), path.name, problems)
        return None, False
    return rows, delimiter != ","


def _is_text(data: bytes, path: Path, problems: ProblemList) -> bool:
    if not data.startswith(ZIP_START):
        return True
    problems.refuse(
        "unreadable",
        path.name,
        "the file is no CSV but a spreadsheet or another archive",
        "name it .xlsx if it is a spreadsheet, or save it again as CSV (UTF-8)",
    )
    return False


def _refuse_nul(text: str, file: str, problems: ProblemList) -> None:
    problems.refuse(
        "not-text",
        file,
        f"the file holds NUL characters, the first as letter {text.index(chr(0)) + 1}: "
        "it is no text, or UTF-16 that does not say so",
        "open it in the program that made it and save as CSV UTF-8",
    )


def _refuse_csv(error: str, file: str, problems: ProblemList) -> None:
    if "unexpected end" in error:
        what = "a quote is opened and never closed"
        advice = 'close the quote, or write " within a text as ""'
    else:
        what = f"the file cannot be read as CSV ({error})"
        advice = "save it again as CSV (UTF-8) or as .xlsx"
    problems.refuse("unreadable", file, what, advice)


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


def _framed(
    rows: Iterable[Sequence[str]], file: str, problems: ProblemList
) -> pd.DataFrame | None:
    stripped = [[trimmed(cell) for cell in row] for row in rows]
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
