"""A table saved by somebody else's program, or spoilt as a whole."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from pathlib import Path

import openpyxl
from case import Case, Spoil, refused, repaired, warned
from clean_survey import PEGS, SOUNDINGS, TABLES
from mutators import (
    cell,
    column,
    gone,
    header,
    more,
    moved,
    raw,
    recoded,
    separated,
    swap,
    text,
    together,
    workbook,
)

CSVS = [name for name in TABLES if name.endswith(".csv")]
ACCENTED = PEGS.replace("by the oak", "chêne")

ENCODINGS = {
    **{
        f"{file} with a byte order mark": repaired(
            recoded(file, "utf-8", b"\xef\xbb\xbf")
        )
        for file in CSVS
    },
    **{
        f"{file} in UTF-16 with its mark": repaired(recoded(file, "utf-16"))
        for file in CSVS
    },
    "UTF-16 without its mark": refused(
        recoded("pegs.csv", "utf-16-le"), "pegs.csv", "NUL", "save as CSV UTF-8"
    ),
    "UTF-32": refused(
        recoded("pegs.csv", "utf-32"), "pegs.csv", "NUL", "save as CSV UTF-8"
    ),
    "Windows-1252": warned(
        text("pegs.csv", ACCENTED.encode("cp1252")),
        *("pegs.csv", "not UTF-8", "Windows-1252"),
        differ=("pegs",),
    ),
    "an old Mac's letters": warned(
        text("pegs.csv", ACCENTED.encode("mac-roman")),
        *("pegs.csv", "not UTF-8"),
        differ=("pegs",),
    ),
    "cut in the middle of a letter": warned(
        text("pegs.csv", PEGS.encode() + "4,400150.5,299988.5,,,,,ê".encode()[:-1]),
        *("pegs.csv", "not UTF-8"),
        differ=("pegs",),
    ),
    "a NUL in a cell": refused(
        cell("pegs.csv", 2, "note", "by\x00the oak"), "pegs.csv", "NUL"
    ),
    "a picture called CSV": refused(
        text("pegs.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(64)),
        *("pegs.csv", "NUL"),
    ),
    "a spreadsheet called CSV": refused(
        together(workbook("pegs.csv"), moved("pegs.xlsx", "pegs.csv")),
        *("pegs.csv", "spreadsheet", ".xlsx"),
    ),
    "a web page called CSV": refused(
        text("pegs.csv", "<!DOCTYPE html>\n<html><body>Not found</body></html>\n"),
        *("pegs.csv", "there is no column 'x'"),
    ),
}

LINES = {
    **{
        f"{file} with Windows line ends": repaired(
            raw(file, lambda data: data.replace(b"\n", b"\r\n"))
        )
        for file in CSVS[:3]
    },
    "old Mac line ends": repaired(
        raw("pegs.csv", lambda data: data.replace(b"\n", b"\r"))
    ),
    "line ends doubled": repaired(
        raw("pegs.csv", lambda data: data.replace(b"\n", b"\n\n"))
    ),
    "no line end at the end": repaired(raw("pegs.csv", lambda data: data.rstrip())),
    "a hundred empty lines behind": repaired(more("pegs.csv", "\n" * 100)),
    "lines of commas alone behind": repaired(more("pegs.csv", ",,,,,,,\n" * 50)),
    "empty columns to the right": repaired(
        raw("pegs.csv", lambda data: data.replace(b"\n", b",,,\n"))
    ),
    "an end-of-file mark": refused(
        more("pegs.csv", "\x1a"), "pegs.csv", "the cell is empty", row=5
    ),
    "a line saying which separator": repaired(
        raw("pegs.csv", lambda data: b"sep=,\r\n" + data)
    ),
    "a title above the header": refused(
        raw("pegs.csv", lambda data: b"Pegs of our water\n" + data),
        *("pegs.csv", "there is no column 'peg'"),
    ),
    "an empty line above the header": refused(
        raw("pegs.csv", lambda data: b"\n" + data),
        *("pegs.csv", "names no columns", "row 1"),
        row=1,
    ),
    "units in a second row": refused(
        raw("soundings.csv", lambda data: data.replace(b"\n", b"\nm,m,m,m,,m\n", 1)),
        *("soundings.csv", "not a number"),
        row=2,
    ),
    "a sum below": refused(
        more("soundings.csv", ",,117.8,,,"),
        *("soundings.csv", "the cell is empty"),
        row=78,
    ),
    "a quote never closed": refused(
        raw("pegs.csv", lambda data: data.replace(b"by the oak", b'"by the oak')),
        *("pegs.csv", "quote"),
    ),
    "a note of two lines": warned(
        cell("pegs.csv", 2, "note", "by the oak\n2,400101,299988,right,no,,,"),
        *("pegs.csv", "line break"),
        row=2,
        column="note",
        differ=("pegs",),
    ),
    "an apostrophe before every number": refused(
        column("soundings.csv", "depth_m", lambda one: f"'{one}"),
        *("soundings.csv", "not a number"),
        column="depth_m",
    ),
    "every cell in quotes": repaired(
        raw(
            "flows.csv",
            lambda data: b"\n".join(
                b",".join(b'"' + one + b'"' for one in line.split(b","))
                for line in data.splitlines()
            ),
        )
    ),
    "the header again in the middle": refused(
        raw(
            "soundings.csv",
            lambda data: b"\n".join(
                line
                for number, line in enumerate(data.splitlines())
                for line in ([data.splitlines()[0]] * (number == 9) + [line])
            ),
        ),
        *("soundings.csv", "not a number"),
        row=10,
    ),
    "cut in the middle of a row": refused(
        raw("soundings.csv", lambda data: data[:-30]), "soundings.csv", row=77
    ),
    "a cell of a million letters": refused(
        cell("pegs.csv", 2, "note", "x" * 10**6), "pegs.csv", "field"
    ),
    "a thousand columns": warned(
        raw(
            "flows.csv",
            lambda data: b"\n".join(
                line + b"," + b",".join(b"%d%c" % (one, end) for one in range(997))
                for line, end in zip(data.splitlines(), b"nabc", strict=True)
            ),
        ),
        *("flows.csv", "more of this kind"),
    ),
    "the same rows twice": warned(
        text("soundings.csv", SOUNDINGS + SOUNDINGS.partition("\n")[2]),
        *("soundings.csv", "76 rows are the same as earlier ones"),
        differ=("soundings",),
    ),
    "one row": warned(
        text("soundings.csv", "\n".join(SOUNDINGS.splitlines()[:2])),
        *("soundings.csv", "few soundings"),
        differ=("soundings",),
    ),
}

SEPARATORS = {
    **{f"{file} with semicolons": repaired(separated(file, ";")) for file in CSVS},
    **{
        f"{file} with semicolons and decimal commas": repaired(
            separated(file, ";", ",")
        )
        for file in CSVS
    },
    "tabs": repaired(separated("soundings.csv", "\t")),
    "upright bars": repaired(separated("soundings.csv", "|")),
    "blanks": refused(
        separated("soundings.csv", " "), "soundings.csv", "there is no column 'x'"
    ),
    "decimal commas between commas": refused(
        raw("flows.csv", lambda data: data.replace(b".", b",")),
        *("flows.csv", "write decimals with a point"),
    ),
    "points and commas mixed": refused(
        together(separated("flows.csv", ";", ","), swap("flows.csv", "0,7", "0.7")),
        *("flows.csv", "a comma in a number"),
        column="level_m",
    ),
    "some lines with semicolons": refused(
        swap("flows.csv", "0.7,5.5,2024", "0.7;5.5;2024"),
        *("flows.csv", "not a number"),
        row=3,
        column="level_m",
    ),
}

HEADERS = {
    **{
        f"{file}: {old} spelt {new}": refused(
            header(file, old, new), file, f"there is no column {wanted!r}", new
        )
        for file, old, new, wanted in (
            ("soundings.csv", "depth_m", "detph_m", "depth_m"),
            ("soundings.csv", "depth_m", "depth m", "depth_m"),
            ("soundings.csv", "x", "Easting", "x"),
            ("soundings.csv", "y", "northings", "y"),
            ("flows.csv", "flow_m3s", "flow_m3", "flow_m3s"),
            ("flows.csv", "level_m", "levle_m", "level_m"),
            ("pegs.csv", "peg", "pegg", "peg"),
            ("pegs.csv", "peg", "Swim", "peg"),
            ("returns.csv", "hours", "huors", "hours"),
            ("returns.csv", "species", "fish", "species"),
            ("bed.csv", "x", "eastings", "x"),
        )
    },
    **{
        f"{file}: {old} without its unit": refused(
            header(file, old, new), file, "names no unit", column=new
        )
        for file, old, new in (
            ("soundings.csv", "depth_m", "depth"),
            ("soundings.csv", "depth_m", "Depth_cm"),
            ("soundings.csv", "level_m", "level"),
            ("pegs.csv", "walk_m", "walk_yd"),
            ("returns.csv", "weight_kg", "weight"),
            ("flows.csv", "flow_m3s", "flow_cumecs"),
        )
    },
    **{
        f"{file}: optional {old} spelt {new}": warned(
            header(file, old, new),
            *(file, "the column is not used", f"rename it to {old!r}"),
            column=new,
            differ=(file.removesuffix(".csv"),),
        )
        for file, old, new in (
            ("soundings.csv", "level_m", "levl_m"),
            ("soundings.csv", "when", "wehn"),
            ("bed.csv", "weed_pct", "wede_pct"),
            ("pegs.csv", "step_free", "stepfree"),
            ("pegs.csv", "walk_m", "wlak_m"),
            ("returns.csv", "clarity", "clarty"),
        )
    },
    "capitals": repaired(swap("flows.csv", "level_m,flow_m3s", "LEVEL_M,Flow_m3s")),
    "blanks round a name": repaired(swap("flows.csv", "flow_m3s", " flow_m3s ")),
    "a zero-width space in a name": repaired(
        swap("flows.csv", "flow_m3s", "\u200bflow_m3s")
    ),
    "a second mark of byte order": repaired(
        raw("flows.csv", lambda data: b"\xef\xbb\xbf\xef\xbb\xbf" + data)
    ),
    "the same column in capitals": refused(
        swap("flows.csv", "level_m,flow_m3s,when", "level_m,flow_m3s,LEVEL_M"),
        *("flows.csv", "twice"),
        row=1,
        column="level_m",
    ),
    "depth and elevation": refused(
        header("soundings.csv", "sd_m", "bed_m"),
        *("soundings.csv", "keep exactly one of depth_m"),
    ),
    "metres and feet": refused(
        header("soundings.csv", "sd_m", "level_ft"),
        *("soundings.csv", "keep one of the two columns"),
    ),
    "degrees and metres": refused(
        header("pegs.csv", "walk_m", "lon"),
        *("pegs.csv", "keep one pair of coordinate columns"),
    ),
    "metres called degrees": refused(
        swap("pegs.csv", "peg,x,y", "peg,lon,lat"), "pegs.csv", "too large for degrees"
    ),
    "only a header": refused(
        text("flows.csv", "level_m,flow_m3s\n"), "flows.csv", "a header but no rows"
    ),
    "only numbers": refused(
        raw("flows.csv", lambda data: data.partition(b"\n")[2]),
        *("flows.csv", "there is no column 'level_m'"),
    ),
    "a column without a name": warned(
        swap("flows.csv", "level_m,flow_m3s,when", "level_m,flow_m3s,"),
        *("flows.csv", "without a name"),
        row=1,
        differ=("flows",),
    ),
    **{
        f"{file} of no bytes": refused(
            text(file, b""), file, "empty (0 bytes)", "delete it"
        )
        for file in CSVS
    },
    **{
        f"{file} of blanks": refused(
            text(file, b" \n \n"), file, "names no columns", row=1
        )
        for file in CSVS
    },
}


def zipped(parts: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as opened:
        for name, one in parts.items():
            opened.writestr(name, one)
    return data.getvalue()


def in_zip(file: str, change) -> Spoil:
    """Change the XML parts of a spreadsheet; ``change`` gets name and bytes."""

    def spoil(folder: Path) -> None:
        path = folder / file
        with zipfile.ZipFile(path) as old:
            parts = {name: old.read(name) for name in old.namelist()}
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
            for name, data in parts.items():
                new.writestr(name, change(name, data))

    return spoil


def merged(area: str) -> Spoil:
    return workbook("soundings.csv", lambda book: book.active.merge_cells(area))


def formula(book: openpyxl.Workbook) -> None:
    book.active["C4"] = "=1+0.45"


def stored_formula(_name: str, data: bytes) -> bytes:
    """The formula with its value, as a spreadsheet saves it."""
    return data.replace(b"<f>1+0.45</f><v></v>", b"<f>1+0.45</f><v>1.45</v>").replace(
        b"<f>1+0.45</f><v />", b"<f>1+0.45</f><v>1.45</v>"
    )


def entity(name: str, data: bytes) -> bytes:
    if not name.endswith("sheet1.xml"):
        return data
    return (
        b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>'
        + data.partition(b"?>")[2]
    )


def bomb(folder: Path) -> None:
    """A small file whose sheet unpacks to a gigabyte of blanks."""
    (folder / "pegs.csv").unlink()
    book = openpyxl.Workbook()
    book.active.append(["peg", "x", "y"])
    path = folder / "pegs.xlsx"
    book.save(path)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as opened:
        blanks = b" " * 2**20
        with opened.open("xl/media/picture.bin", "w", force_zip64=True) as part:
            for _ in range(300):
                part.write(blanks)


def title(book: openpyxl.Workbook) -> None:
    book.active.insert_rows(1)
    book.active["A1"] = "Our soundings"


def second_sheet(book: openpyxl.Workbook) -> None:
    book.create_sheet("autumn").append([1, 2, 3])


def first_sheet_blank(book: openpyxl.Workbook) -> None:
    book.create_sheet("cover", 0)


def dated(book: openpyxl.Workbook) -> None:
    """Real dates in place of their text."""
    for row in range(2, book.active.max_row + 1):
        book.active.cell(row, 5).value = dt.date(2024, 5, 3)


def serial(book: openpyxl.Workbook) -> None:
    book.active["E2"] = 45415


def all_text(book: openpyxl.Workbook) -> None:
    for row in book.active.iter_rows(min_row=2):
        for one in row:
            one.value = None if one.value is None else str(one.value)


WORKBOOKS = {
    **{f"{file} as a spreadsheet": repaired(workbook(file)) for file in CSVS},
    "dates as dates": repaired(workbook("soundings.csv", dated)),
    "a date as a day number": refused(
        workbook("soundings.csv", serial),
        *("soundings.xlsx", "day number"),
        row=2,
        column="when",
    ),
    "numbers as text": repaired(workbook("soundings.csv", all_text)),
    "merged cells in a column": refused(
        merged("D2:D20"), "soundings.xlsx", "merged", "D2:D20", row=2
    ),
    "merged cells in the header": refused(
        merged("A1:B1"), "soundings.xlsx", "merged", "A1:B1", row=1
    ),
    "a formula never reckoned": refused(
        workbook("soundings.csv", formula),
        *("soundings.xlsx", "formula", "C4"),
        row=4,
    ),
    "a formula with its value": repaired(
        together(
            workbook("soundings.csv", formula),
            in_zip("soundings.xlsx", stored_formula),
        )
    ),
    "a title above": refused(
        workbook("soundings.csv", title), "soundings.xlsx", "there is no column 'x'"
    ),
    "a second sheet": warned(
        workbook("soundings.csv", second_sheet),
        *("soundings.xlsx", "only the first sheet", "autumn"),
    ),
    "an empty first sheet": refused(
        workbook("soundings.csv", first_sheet_blank),
        *("soundings.xlsx", "names no columns"),
        row=1,
    ),
    "cut off": refused(
        together(
            workbook("soundings.csv"),
            raw("soundings.xlsx", lambda data: data[: len(data) // 2]),
        ),
        *("soundings.xlsx", "cannot be read as a spreadsheet"),
    ),
    "its sheet is not XML": refused(
        together(
            workbook("soundings.csv"),
            in_zip("soundings.xlsx", lambda n, d: d[:-9] if "sheet1" in n else d),
        ),
        *("soundings.xlsx", "cannot be read as a spreadsheet"),
    ),
    "its workbook is gone": refused(
        together(
            workbook("soundings.csv"),
            in_zip("soundings.xlsx", lambda n, d: b"" if "workbook.xml" in n else d),
        ),
        *("soundings.xlsx", "cannot be read as a spreadsheet"),
    ),
    "it refers to a file of the machine": refused(
        together(workbook("soundings.csv"), in_zip("soundings.xlsx", entity)),
        *("soundings.xlsx", "DOCTYPE"),
    ),
    "it unpacks to far more than it is": refused(bomb, "pegs.xlsx", "unpacks to", "MB"),
    "an old spreadsheet": refused(
        moved("pegs.csv", "pegs.xls"), "pegs.xls", "save it as one of .csv, .xlsx"
    ),
    "both kinds": refused(
        lambda folder: openpyxl.Workbook().save(folder / "pegs.xlsx"),
        *("pegs.xlsx", "given twice", "keep the one"),
    ),
    "an empty archive": refused(
        together(gone("pegs.csv"), text("pegs.xlsx", zipped({}))),
        *("pegs.xlsx", "cannot be read as a spreadsheet"),
    ),
}


CASES: dict[str, Case] = {
    **ENCODINGS,
    **LINES,
    **SEPARATORS,
    **HEADERS,
    **WORKBOOKS,
}
