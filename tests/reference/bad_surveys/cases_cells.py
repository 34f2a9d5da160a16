"""One bad cell: every numeric column against every kind of bad number, and others."""

from __future__ import annotations

from case import Case, refused, repaired, warned
from mutators import cell, column, more, swap, together

NUMBERS = (
    *(("soundings.csv", 5, name) for name in ("x", "y", "depth_m", "level_m", "sd_m")),
    ("bed.csv", 3, "gravel_pct"),
    ("bed.csv", 2, "weed_pct"),
    ("bed.csv", 2, "d50_mm"),
    *(("speeds.csv", 2, name) for name in ("x2", "seconds", "level_m")),
    ("speeds.csv", 4, "speed_ms"),
    ("speeds.csv", 5, "height_frac"),
    ("flows.csv", 3, "level_m"),
    ("flows.csv", 3, "flow_m3s"),
    ("pegs.csv", 2, "x"),
    ("pegs.csv", 2, "y"),
    ("pegs.csv", 2, "walk_m"),
    *(
        ("returns.csv", 3, name)
        for name in ("hours", "count", "weight_kg", "water_c", "level_m")
    ),
)
BAD = {
    "NaN": ("NaN", "no finite number", "leave the cell empty"),
    "minus infinity": ("-inf", "no finite number", "leave the cell empty"),
    "beyond a double": ("1e999", "no finite number", "leave the cell empty"),
    "astronomical": ("1e30", "up to", ""),
    "deep below zero": ("-1e12", "", ""),
    "with its unit": ("1.2 m", "not a number", "without its unit"),
    "a spreadsheet's error": ("#REF!", "not a number", "leave the cell empty"),
    "in hexadecimal": ("0x1F", "not a number", "write the number alone"),
    "with a decimal comma": ("1,25", "decimal or a thousand", "with a point"),
}
"""What is written and the words that must be said of it."""

A_COLUMN = 4
"""Kinds of bad number that each column is tried with, in turn: the readers treat all
columns alike, and every kind meets many of them."""

NUMERIC = {
    f"{file} {name}: {kind}": refused(
        cell(file, row, name, value), file, *words, row=row, column=name
    )
    for turn, (file, row, name) in enumerate(NUMBERS)
    for shift, (kind, (value, *words)) in enumerate(BAD.items())
    if (shift - turn) % len(BAD) < A_COLUMN
}

DATES = {
    f"{file} {name}: {kind}": refused(
        cell(file, row, name, value), file, *words, row=row, column=name
    )
    for file, row, name in (
        ("soundings.csv", 4, "when"),
        ("flows.csv", 2, "when"),
        ("returns.csv", 4, "date"),
    )
    for kind, value, words in (
        ("a spreadsheet's day number", "45415", ("day number", "format")),
        ("a day number with its hour", "45415.5", ("day number", "format")),
        ("day first", "03/05/2024", ("ISO 8601", "2024-05-03")),
        ("with points", "3.5.2024", ("ISO 8601", "2024-05-03")),
        ("no such day", "2023-02-29", ("ISO 8601", "2024-05-03")),
        ("a year of two digits", "24-05-03", ("ISO 8601",)),
        ("in words", "3 May 2024", ("ISO 8601",)),
        ("before there were boards", "0024-05-03", ("ISO 8601",)),
    )
}

WORDS = {
    "substrate a slip": refused(
        cell("bed.csv", 2, "substrate", "gravle"),
        *("bed.csv", "did you mean 'gravel'"),
        row=2,
        column="substrate",
    ),
    "substrate in another tongue": refused(
        cell("bed.csv", 2, "substrate", "kies"),
        *("bed.csv", "use one of"),
        row=2,
        column="substrate",
    ),
    "substrate two words": refused(
        cell("bed.csv", 2, "substrate", "gravel/sand"),
        *("bed.csv", "use one of"),
        row=2,
        column="substrate",
    ),
    "substrate in capitals": repaired(cell("bed.csv", 2, "substrate", " GRAVEL ")),
    "bank by a letter": refused(
        cell("pegs.csv", 2, "bank", "L"),
        *("pegs.csv", "use one of left, right"),
        row=2,
        column="bank",
    ),
    "bank by the compass": refused(
        cell("pegs.csv", 2, "bank", "north"),
        *("pegs.csv", "use one of left, right"),
        row=2,
        column="bank",
    ),
    "open perhaps": refused(
        cell("pegs.csv", 2, "open", "perhaps"),
        *("pegs.csv", "neither yes nor no"),
        row=2,
        column="open",
    ),
    "open by a tick": refused(
        cell("pegs.csv", 2, "open", "✓"),
        *("pegs.csv", "neither yes nor no"),
        row=2,
        column="open",
    ),
    "kind of speed unknown": refused(
        cell("speeds.csv", 4, "kind", "middle"),
        *("speeds.csv", "use one of surface, mean, point"),
        row=4,
        column="kind",
    ),
    "kind of speed empty": refused(
        cell("speeds.csv", 4, "kind", ""),
        *("speeds.csv", "what kind of speed"),
        row=4,
        column="kind",
    ),
    "clarity unknown": refused(
        cell("returns.csv", 2, "clarity", "murky"),
        *("returns.csv", "use one of"),
        row=2,
        column="clarity",
    ),
    "a return of a peg that is not there": refused(
        cell("returns.csv", 2, "peg", "77"), "returns.csv", "77", row=2, column="peg"
    ),
    "the typographic minus": repaired(
        together(
            cell("returns.csv", 4, "level_m", "\u2212" + "0.6"),
            cell("returns.csv", 4, "level_m", "0.6"),
        )
    ),
    "digits of another script": repaired(cell("flows.csv", 3, "flow_m3s", "٥.٥")),
    "a plus sign": repaired(cell("flows.csv", 3, "flow_m3s", "+5.5")),
    "an exponent": repaired(cell("flows.csv", 3, "flow_m3s", "55e-1")),
    "spaces around": repaired(cell("flows.csv", 3, "flow_m3s", "  5.5\t")),
    "a no-break space behind": repaired(cell("flows.csv", 3, "flow_m3s", "5.5\u00a0")),
    "a zero-width space before": repaired(
        cell("flows.csv", 3, "flow_m3s", "\u200b5.5")
    ),
    "a mark of byte order within": repaired(
        cell("flows.csv", 3, "flow_m3s", "\ufeff5.5")
    ),
    "a thousand with a space": refused(
        cell("flows.csv", 3, "flow_m3s", "1 250"),
        *("flows.csv", "not a number"),
        row=3,
        column="flow_m3s",
    ),
    "a fraction sign": refused(
        cell("flows.csv", 3, "flow_m3s", "5½"),
        *("flows.csv", "not a number"),
        row=3,
        column="flow_m3s",
    ),
    "a range": refused(
        cell("flows.csv", 3, "flow_m3s", "5-6"),
        *("flows.csv", "not a number"),
        row=3,
        column="flow_m3s",
    ),
    "less than": refused(
        cell("soundings.csv", 3, "depth_m", "<0.2"),
        *("soundings.csv", "not a number"),
        row=3,
        column="depth_m",
    ),
    "a question mark": refused(
        cell("soundings.csv", 3, "depth_m", "1.5?"),
        *("soundings.csv", "not a number"),
        row=3,
        column="depth_m",
    ),
    "a formula as text": refused(
        cell("soundings.csv", 3, "depth_m", "=1+1"),
        *("soundings.csv", "not a number"),
        row=3,
        column="depth_m",
    ),
    "a depth left empty": refused(
        cell("soundings.csv", 3, "depth_m", ""),
        *("soundings.csv", "the cell is empty", "delete the row"),
        row=3,
        column="depth_m",
    ),
    "a depth of a dash": refused(
        cell("soundings.csv", 3, "depth_m", "-"),
        *("soundings.csv", "not a number"),
        row=3,
        column="depth_m",
    ),
}

TOGETHER = {
    "a duplicate peg": refused(
        cell("pegs.csv", 3, "peg", "1"),
        *("pegs.csv", "in row 2 already"),
        row=3,
        column="peg",
    ),
    "a duplicate peg but for its case": refused(
        together(cell("pegs.csv", 2, "peg", "a1"), cell("pegs.csv", 3, "peg", "A1")),
        *("pegs.csv", "in row 2 already"),
        row=3,
        column="peg",
    ),
    "a duplicate peg but for its spaces": refused(
        cell("pegs.csv", 3, "peg", " 1 "),
        *("pegs.csv", "in row 2 already"),
        row=3,
        column="peg",
    ),
    "a blank peg": refused(
        cell("pegs.csv", 3, "peg", "  "),
        *("pegs.csv", "the cell is empty"),
        row=3,
        column="peg",
    ),
    "a peg with a zero-width name": refused(
        cell("pegs.csv", 3, "peg", "\u200b"),
        *("pegs.csv", "the cell is empty"),
        row=3,
        column="peg",
    ),
    "two pegs at one place": warned(
        together(
            cell("pegs.csv", 4, "x", "400050.5"), cell("pegs.csv", 4, "y", "300011.5")
        ),
        *("pegs.csv", "same place as peg 1"),
        row=4,
        column="peg",
        differ=("pegs",),
    ),
    "a peg on the wrong bank": warned(
        cell("pegs.csv", 2, "bank", "right"),
        *("pegs.csv", "other bank", "correct the bank"),
        row=2,
        column="bank",
        differ=("pegs",),
    ),
    "a peg in mid-river": warned(
        cell("pegs.csv", 2, "y", "300002"),
        *("pegs.csv", "out in the water"),
        row=2,
        differ=("pegs",),
    ),
    "a peg far from the water": refused(
        cell("pegs.csv", 2, "y", "300100"),
        *("pegs.csv", "more than 30 m from the water"),
        row=2,
        column="x",
    ),
    "one sounding on the bank": warned(
        cell("soundings.csv", 2, "y", "299985"),
        *("soundings.csv", "1 rows lie more than 2 m outside"),
        row=2,
        left_out={"soundings": [2]},
    ),
    "one sounding in another county": refused(
        cell("soundings.csv", 2, "y", "399985"),
        *("soundings.csv", "more than 50 m from the water"),
        row=2,
        column="x",
    ),
    "one sounding with its coordinates swapped": refused(
        together(
            cell("soundings.csv", 2, "x", "299994.5"),
            cell("soundings.csv", 2, "y", "400005.5"),
        ),
        *("soundings.csv", "swap x and y"),
        row=2,
        column="x",
    ),
    "one sounding without its place": refused(
        cell("soundings.csv", 2, "y", ""),
        *("soundings.csv", "the cell is empty"),
        row=2,
        column="y",
    ),
    "one false echo": warned(
        cell("soundings.csv", 35, "depth_m", "9.9"),
        *("soundings.csv", "stands out from its neighbours"),
        row=35,
        column="depth_m",
        differ=("soundings",),
    ),
    "one false echo in a short file": warned(
        cell("soundings.csv", 2, "depth_m", "6.0"),
        *("soundings.csv", "stands out from its neighbours"),
        row=2,
        column="depth_m",
        differ=("soundings",),
    ),
    "a sounding contradicted at its place": warned(
        more("soundings.csv", "400005.5,299994.5,3.9,0.6,2024-05-03,0.05"),
        *("soundings.csv", "this one place differ"),
        row=2,
        column="depth_m",
        differ=("soundings",),
    ),
    "per cents of 103": refused(
        cell("bed.csv", 3, "gravel_pct", "63"),
        *("bed.csv", "the per cents sum to 103"),
        row=3,
    ),
    "per cents as shares": refused(
        together(
            cell("bed.csv", 3, "silt_pct", "0.1"),
            cell("bed.csv", 3, "sand_pct", "0.3"),
            cell("bed.csv", 3, "gravel_pct", "0.6"),
        ),
        *("bed.csv", "sum to 1,"),
        row=3,
    ),
    "a word beside per cents": refused(
        cell("bed.csv", 3, "substrate", "sand"),
        *("bed.csv", "both a word and per cents"),
        row=3,
    ),
    "a bottom that says nothing": refused(
        cell("bed.csv", 4, "substrate", ""),
        *("bed.csv", "does not say what the bottom is"),
        row=4,
    ),
    "a float that went nowhere": refused(
        together(
            cell("speeds.csv", 2, "x2", "400020.5"),
            cell("speeds.csv", 2, "y2", "300000.5"),
        ),
        *("speeds.csv",),
        row=2,
    ),
    "a float without its end": refused(
        cell("speeds.csv", 2, "x2", ""), "speeds.csv", "lacks the place", row=2
    ),
    "a float in no time": refused(
        cell("speeds.csv", 2, "seconds", "0"),
        *("speeds.csv", "over 0"),
        row=2,
        column="seconds",
    ),
    "a float faster than water": refused(
        cell("speeds.csv", 2, "seconds", "1"), "speeds.csv", row=2
    ),
    "a float and a speed in one row": refused(
        cell("speeds.csv", 2, "speed_ms", "0.5"),
        *("speeds.csv", "keep one of the two"),
        row=2,
    ),
    "a speed in kilometres an hour": refused(
        cell("speeds.csv", 4, "speed_ms", "18"),
        *("speeds.csv", "divide km/h by 3.6"),
        row=4,
        column="speed_ms",
    ),
    "a flow in litres": refused(
        cell("flows.csv", 3, "flow_m3s", "55000"),
        *("flows.csv", "divide litres a second by 1000"),
        row=3,
        column="flow_m3s",
    ),
    "minutes for hours": refused(
        cell("returns.csv", 2, "hours", "270"),
        *("returns.csv", "divide by 60"),
        row=2,
        column="hours",
    ),
    "water in Fahrenheit": refused(
        cell("returns.csv", 2, "water_c", "55"),
        *("returns.csv", "Fahrenheit"),
        row=2,
        column="water_c",
    ),
    "a depth in centimetres": refused(
        cell("soundings.csv", 2, "depth_m", "150"),
        *("soundings.csv", "divide centimetres by 100"),
        row=2,
        column="depth_m",
    ),
    "all depths in feet": warned(
        column("soundings.csv", "depth_m", lambda one: f"{float(one) / 0.3048:.3f}"),
        *("soundings.csv", "deep for water", "depth_ft"),
        column="depth_m",
        differ=("soundings",),
    ),
    "all levels in feet": warned(
        column("soundings.csv", "level_m", lambda _: "2.2"),
        *("soundings.csv", "board", "level_ft"),
        column="level_m",
        differ=("soundings",),
    ),
    "all depths below zero": refused(
        column("soundings.csv", "depth_m", lambda one: f"-{one}"),
        *("soundings.csv", "write depths as positive numbers"),
        column="depth_m",
    ),
    "all depths nought": warned(
        column("soundings.csv", "depth_m", lambda _: "0"),
        *("soundings.csv", "every depth is 0"),
        column="depth_m",
        differ=("soundings",),
    ),
    "coordinates in feet": refused(
        together(
            column("soundings.csv", "x", lambda one: f"{float(one) / 0.3048:.2f}"),
            column("soundings.csv", "y", lambda one: f"{float(one) / 0.3048:.2f}"),
        ),
        *("soundings.csv", "far from the water", "CRS of river.toml"),
        column="x",
    ),
    "coordinates in kilometres": refused(
        together(
            column("soundings.csv", "x", lambda one: f"{float(one) / 1000:.5f}"),
            column("soundings.csv", "y", lambda one: f"{float(one) / 1000:.5f}"),
        ),
        *("soundings.csv", "far from the water"),
        column="x",
    ),
    "coordinates without their first digit": refused(
        column("soundings.csv", "x", lambda one: one[1:]),
        *("soundings.csv", "far from the water"),
        column="x",
    ),
    "columns of x and y swapped": refused(
        swap("soundings.csv", "x,y,depth_m", "y,x,depth_m"),
        *("soundings.csv", "swap the names of the columns x and y"),
        column="x",
    ),
    "columns of x and y swapped for pegs": refused(
        swap("pegs.csv", "peg,x,y", "peg,y,x"),
        *("pegs.csv", "swap the names of the columns x and y"),
        column="x",
    ),
    "columns of depth and place swapped": refused(
        swap("soundings.csv", "x,y,depth_m", "depth_m,y,x"),
        *("soundings.csv", "depth"),
        column="depth_m",
    ),
    "columns of level and flow swapped": warned(
        swap("flows.csv", "level_m,flow_m3s", "flow_m3s,level_m"),
        *("flows.csv", "board"),
        column="level_m",
        differ=("flows",),
    ),
    "flows that fall as the board rises": warned(
        together(
            cell("flows.csv", 2, "flow_m3s", "8.5"),
            cell("flows.csv", 4, "flow_m3s", "3.5"),
        ),
        *("flows.csv", "falls as the level rises"),
        column="flow_m3s",
        differ=("flows",),
    ),
}

CASES: dict[str, Case] = {**NUMERIC, **DATES, **WORDS, **TOGETHER}
