"""The committee's workbook and the table that every spreadsheet opens."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from layers.raster import replacing
from pegscore.exports.shapes_files import peg_features, place_features
from pegscore.tables import DECIMALS, safe_for_spreadsheets, write_table
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl.worksheet.worksheet import Worksheet

    from pegscore.exports.edition import Edition

WIDEST = 60
"""A column no wider than this many letters."""


def write_csv(edition: Edition, path: Path) -> Path:
    """Write the pegs, a row each, as UTF-8 CSV that cannot run a formula.

    The mark at the file's head tells a spreadsheet that the text is UTF-8.
    """
    return write_table(_plain(peg_features(edition)), path, encoding="utf-8-sig")


def write_workbook(edition: Edition, path: Path) -> Path:
    """Write the committee's workbook: about, pegs, scores, places, returns."""
    places = place_features(edition)
    sheets = {
        "About": pd.DataFrame({edition.river or "About": list(edition.about)}),
        "Pegs": _plain(peg_features(edition)),
        "Scores": _plain(edition.scores),
        "Places": None if places is None else _plain(places),
        "Returns": None if edition.returns is None else _plain(edition.returns),
    }
    book = Workbook()
    book.remove(book.active)
    for title, table in sheets.items():
        if table is not None and not table.empty:
            _fill(book.create_sheet(title), safe_for_spreadsheets(table))
    with replacing(path) as temporary:
        book.save(temporary)
    return path


def _plain(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table without geometry, every text on one line and unable to run."""
    flat = pd.DataFrame(table.drop(columns="geometry", errors="ignore"))
    for name in flat.select_dtypes(include=["object", "string"]):
        flat[name] = [one_line(v) if isinstance(v, str) else v for v in flat[name]]
    for name in flat.select_dtypes(include="number").columns.drop(
        ["longitude", "latitude"], errors="ignore"
    ):
        flat[name] = flat[name].round(DECIMALS)
    return safe_for_spreadsheets(flat)


def _fill(sheet: Worksheet, table: pd.DataFrame) -> None:
    sheet.append([str(name) for name in safe_names(table)])
    for row in table.itertuples(index=False):
        sheet.append([_cell(value) for value in row])
    for number, name in enumerate(table, start=1):
        head = sheet.cell(1, number)
        head.font, head.alignment = Font(bold=True), Alignment(wrap_text=True)
        longest = max([len(str(name)), *(len(str(v)) for v in table[name])])
        sheet.column_dimensions[get_column_letter(number)].width = min(
            longest + 2, WIDEST
        )
    sheet.freeze_panes = "A2"


def safe_names(table: pd.DataFrame) -> list[str]:
    """Return a table's headings, unable to run as formulas too."""
    names = pd.DataFrame({"name": [one_line(str(name)) for name in table]})
    return list(safe_for_spreadsheets(names)["name"])


def _cell(value: object) -> object:
    """Return what a cell may hold; unknown stays empty."""
    if value is None or value is pd.NA or value != value:  # noqa: PLR0124 - NaN alone
        return None
    return value.item() if hasattr(value, "item") else value
