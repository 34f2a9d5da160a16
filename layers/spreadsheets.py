"""The first sheet of an ``.xlsx`` as rows of text; the only home of openpyxl here.

What a sheet shows and a reader of cells does not is looked for first: merged cells
are empty but for the first of them, and a formula that no spreadsheet has reckoned
has no value. Nothing is unpacked before its size is known.
"""

from __future__ import annotations

import re
import warnings
import zipfile
import zlib
from contextlib import redirect_stdout
from io import StringIO
from typing import TYPE_CHECKING

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException

from layers.cells import text_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

    from layers.problems import ProblemList

MOST_UNPACKED_MB = 256
"""A spreadsheet that unpacks to more is refused: our own choice. A million rows of
soundings take about 200 MB."""

MOST_NAMED = 5
"""Areas or cells that one message names."""

MERGED = re.compile(rb'<(?:\w+:)?mergeCell\b[^>]*\bref="([A-Z]+(\d+)[^"]*)"')
FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]")
FOREIGN = re.compile(rb"<!(?:DOCTYPE|ENTITY)")

_FAILURES = (
    InvalidFileException,
    zipfile.BadZipFile,
    OSError,
    EOFError,
    AttributeError,  # a part that should be there is None
    IndexError,
    KeyError,
    NotImplementedError,  # a packing that the library does not know
    OverflowError,
    RuntimeError,  # locked with a password
    SyntaxError,  # a broken XML part
    TypeError,
    ValueError,
    zlib.error,
)


def sheet_rows(path: Path, problems: ProblemList) -> list[Sequence[str]] | None:
    """Return the cells of the first sheet as text; None with the reason noted."""
    try:
        with warnings.catch_warnings(), redirect_stdout(StringIO()):
            # openpyxl warns of formatting that it drops, and of styles that it lacks it
            # tells the screen, where answers for machines go; only cells matter here
            warnings.simplefilter("ignore")
            if not _is_harmless(path, problems):
                return None
            return _first_sheet(path, problems)
    except _FAILURES as error:
        problems.refuse(
            "unreadable",
            path.name,
            f"the file cannot be read as a spreadsheet ({_plain(error)})",
            "open it in a spreadsheet and save it again as .xlsx or CSV",
        )
        return None


def _plain(error: BaseException) -> str:
    """Return an error's words if it has any that a person may make sense of."""
    if isinstance(error, (AttributeError, IndexError, TypeError)):
        return "a part of it is missing"
    return str(error) or "it is not whole"


def _is_harmless(path: Path, problems: ProblemList) -> bool:
    """Refuse what unpacks without end, or points at other files."""
    with zipfile.ZipFile(path) as archive:
        unpacked = sum(part.file_size for part in archive.infolist())
        if unpacked > MOST_UNPACKED_MB * 2**20:
            problems.refuse(
                "too-large",
                path.name,
                f"the file unpacks to {unpacked / 2**20:,.0f} MB, more than the "
                f"{MOST_UNPACKED_MB} MB that are read",
                "save the one sheet that is needed as CSV",
            )
            return False
        for name in archive.namelist():
            if name.endswith((".xml", ".rels")) and FOREIGN.search(archive.read(name)):
                problems.refuse(
                    "foreign-parts",
                    path.name,
                    f"its part {name!r} holds a DOCTYPE, which can point elsewhere",
                    "open it in a spreadsheet and save it again as .xlsx or CSV",
                )
                return False
    return True


def _first_sheet(path: Path, problems: ProblemList) -> list[Sequence[str]] | None:
    book = openpyxl.load_workbook(
        path, read_only=True, data_only=True, keep_links=False
    )
    try:
        if not book.worksheets:
            return []
        sheet = book.worksheets[0]
        xml = _xml_of(path, sheet)
        if xml is not None and _has_merged(xml, path.name, problems):
            return None
        _warn_of_others([one.title for one in book.worksheets[1:]], path, problems)
        rows = _texts(sheet)
    finally:
        book.close()
    if xml is not None and FORMULA.search(xml):
        _report_unreckoned(path, rows, problems)
    return rows


def _texts(sheet: ReadOnlyWorksheet) -> list[Sequence[str]]:
    sheet.reset_dimensions()
    return [
        [text_of(value) for value in row] for row in sheet.iter_rows(values_only=True)
    ]


def _xml_of(path: Path, sheet: ReadOnlyWorksheet) -> bytes | None:
    name = getattr(sheet, "_worksheet_path", None)
    if name is None:
        return None
    with zipfile.ZipFile(path) as archive:
        return archive.read(name)


def _has_merged(xml: bytes, file: str, problems: ProblemList) -> bool:
    found = MERGED.findall(xml)
    for area, row in found[:MOST_NAMED]:
        problems.refuse(
            "merged-cells",
            file,
            f"the cells {area.decode()} are merged: all but the first are empty",
            "unmerge them and fill every cell",
            row=int(row),
        )
    return bool(found)


def _warn_of_others(names: Sequence[str], path: Path, problems: ProblemList) -> None:
    if names:
        problems.warn(
            "other-sheets",
            path.name,
            f"only the first sheet is read, not {', '.join(names[:MOST_NAMED])}",
            "put all rows into the first sheet if the others belong to them",
        )


def _report_unreckoned(
    path: Path, rows: Sequence[Sequence[str]], problems: ProblemList
) -> None:
    """Refuse formulas whose value no spreadsheet has stored."""
    book = openpyxl.load_workbook(path, read_only=True, keep_links=False)
    sheet = book.worksheets[0]
    sheet.reset_dimensions()
    found = [
        cell
        for cells, values in zip(sheet.iter_rows(), rows, strict=False)
        for cell, value in zip(cells, values, strict=False)
        if cell.data_type == "f" and not value
    ]
    book.close()
    for cell in found[:MOST_NAMED]:
        problems.refuse(
            "formula-without-value",
            path.name,
            f"the formula in {cell.coordinate} has no stored value",
            "open the file in a spreadsheet, let it reckon, and save it again",
            row=cell.row,
        )
