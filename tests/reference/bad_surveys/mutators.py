"""What spoils a survey: each gives a function of the folder."""

from __future__ import annotations

import csv
import io
import json
import math
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import rasterio
from affine import Affine
from case import Spoil
from clean_survey import CRS, MIDDLE, WEST


def rows_of(folder: Path, file: str) -> list[list[str]]:
    """The cells of a CSV as it stands."""
    return list(csv.reader(io.StringIO((folder / file).read_text("utf-8"))))


def put_rows(folder: Path, file: str, rows: list[list[str]], **how: str) -> None:
    """Write cells as CSV."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n", **how).writerows(rows)
    (folder / file).write_text(text.getvalue(), encoding="utf-8")


def cell(file: str, row: int, column: str, value: str) -> Spoil:
    """Write a value into one cell, counted as a spreadsheet counts."""

    def spoil(folder: Path) -> None:
        rows = rows_of(folder, file)
        rows[row - 1][rows[0].index(column)] = value
        put_rows(folder, file, rows)

    return spoil


def column(file: str, name: str, change: Callable[[str], str]) -> Spoil:
    """Change every cell of a column."""

    def spoil(folder: Path) -> None:
        rows = rows_of(folder, file)
        at = rows[0].index(name)
        for row in rows[1:]:
            row[at] = change(row[at])
        put_rows(folder, file, rows)

    return spoil


def swap(file: str, old: str, new: str) -> Spoil:
    """Replace a text that must be there."""

    def spoil(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {file}: the case is wrong"
        (folder / file).write_text(text.replace(old, new), encoding="utf-8")

    return spoil


def header(file: str, old: str, new: str) -> Spoil:
    """Spell one column otherwise."""

    def spoil(folder: Path) -> None:
        rows = rows_of(folder, file)
        rows[0][rows[0].index(old)] = new
        put_rows(folder, file, rows)

    return spoil


def text(file: str, content: str | bytes) -> Spoil:
    """Replace a whole file."""
    data = content.encode() if isinstance(content, str) else content

    def spoil(folder: Path) -> None:
        (folder / file).parent.mkdir(exist_ok=True)
        (folder / file).write_bytes(data)

    return spoil


def raw(file: str, change: Callable[[bytes], bytes]) -> Spoil:
    """Change a file's bytes."""
    return lambda folder: (folder / file).write_bytes(
        change((folder / file).read_bytes())
    )


def more(file: str, line: str) -> Spoil:
    """Add a line at the end of a file."""
    return raw(file, lambda data: data + line.encode() + b"\n")


def gone(*files: str) -> Spoil:
    """Delete files."""
    return lambda folder: [(folder / file).unlink() for file in files]


def moved(file: str, name: str) -> Spoil:
    """Give a file another name."""
    return lambda folder: (folder / file).rename(folder / name)


def together(*spoils: Spoil) -> Spoil:
    """Do several things."""
    return lambda folder: [spoil(folder) for spoil in spoils]


def recoded(file: str, encoding: str, bom: bytes = b"") -> Spoil:
    """Save a text in another encoding."""
    return raw(file, lambda data: bom + data.decode("utf-8").encode(encoding))


def separated(file: str, delimiter: str, decimal: str = ".") -> Spoil:
    """Save a table with another separator and decimal sign."""

    def spoil(folder: Path) -> None:
        rows = rows_of(folder, file)
        if decimal != ".":
            rows[1:] = [[one.replace(".", decimal) for one in row] for row in rows[1:]]
        put_rows(folder, file, rows, delimiter=delimiter)

    return spoil


def as_value(text_: str) -> object:
    """What a spreadsheet makes of a typed cell."""
    try:
        return float(text_)
    except ValueError:
        return text_ or None


def workbook(
    file: str, change: Callable[[openpyxl.Workbook], object] = lambda _: None
) -> Spoil:
    """Hand a table in as a spreadsheet, changed."""

    def spoil(folder: Path) -> None:
        book = openpyxl.Workbook()
        for row in rows_of(folder, file):
            book.active.append([as_value(one) for one in row])
        change(book)
        (folder / file).unlink()
        book.save(folder / f"{Path(file).stem}.xlsx")

    return spoil


def features(file: str, change: Callable[[dict], object]) -> Spoil:
    """Change a GeoJSON as read."""

    def spoil(folder: Path) -> None:
        told = json.loads((folder / file).read_text("utf-8"))
        changed = change(told)
        put = told if changed is None else changed
        (folder / file).write_text(json.dumps(put), encoding="utf-8")

    return spoil


def raster(
    name: str = "bed",
    *,
    value: float = 19.0,
    turned: bool = False,
    size: tuple[int, int] = (30, 210),
    at: tuple[float, float] = (WEST - 5, MIDDLE + 15),
    bands: tuple[str, ...] = ("bed",),
    **profile: object,
) -> Spoil:
    """Put a ready raster of one value into the survey."""

    def spoil(folder: Path) -> None:
        (folder / "rasters").mkdir(exist_ok=True)
        step = Affine(1, 0, at[0], 0, -1, at[1])
        if turned:
            cos, sin = math.cos(math.radians(20)), math.sin(math.radians(20))
            step = Affine(cos, -sin, at[0], -sin, -cos, at[1])
        told = {
            "driver": "GTiff",
            "dtype": "float32",
            "count": len(bands),
            "height": size[0],
            "width": size[1],
            "crs": CRS,
            "transform": step,
            **profile,
        }
        given = {key: one for key, one in told.items() if one is not None}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it is meant to be odd
            with rasterio.open(folder / "rasters" / f"{name}.tif", "w", **given) as tif:
                for number, band in enumerate(bands, 1):
                    if size[0] * size[1] < 10**6:
                        tif.write(np.full(size, value, told["dtype"]), number)
                    tif.set_band_description(number, band)

    return spoil
