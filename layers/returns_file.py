"""``returns.*``: the catch returns, one row a visit and species.

Who fished never appears in a message.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from layers import cells as reading
from layers.columns import LIMITS, POUND_KG

if TYPE_CHECKING:
    from layers.sheet import Sheet

CLARITIES = ("clear", "tinged", "coloured")
NEEDED = ("visit", "date", "peg", "hours", "species", "count")
FILLED = ("visit", "date", "hours", "count")
AS_WRITTEN = ("angler", "method", "bait", "target")
WEIGHTS = ("weight_kg", "weight_lb", "weight_lb_oz")


def read_returns(sheet: Sheet, pegs: pd.DataFrame | None) -> pd.DataFrame | None:
    """Return the catch returns; ``species`` is ``""`` for a blank visit."""
    returns = pd.DataFrame(
        {
            "visit": sheet.text("visit"),
            "date": sheet.moments("date"),
            "peg": sheet.text("peg"),
            "hours": sheet.numbers("hours"),
            "species": sheet.text("species"),
            "count": _counts(sheet),
            "weight_kg": _weights(sheet),
        }
    )
    optional = _optional(sheet)
    unused = sheet.unused()
    if not sheet.require(*NEEDED):
        return None
    for name in FILLED:
        sheet.refuse_empty(name)
    _check_rows(sheet, returns)
    _check_visits(sheet, returns)
    _warn_of_pegs(sheet, returns.peg, pegs)
    if returns["count"].notna().all():
        returns["count"] = returns["count"].astype("int64")
    return pd.concat([returns, optional, unused], axis="columns")


def _optional(sheet: Sheet) -> pd.DataFrame:
    columns = {name: sheet.text(name) for name in AS_WRITTEN if sheet.has(name)}
    if sheet.spelling_of("level_m"):
        columns["level_m"] = sheet.metres("level_m")
    if sheet.has("water_c"):
        columns["water_c"] = sheet.numbers("water_c")
    if sheet.has("clarity"):
        columns["clarity"] = sheet.words("clarity", CLARITIES)
    return pd.DataFrame(columns, index=sheet.index)


def _counts(sheet: Sheet) -> pd.Series:
    counts = sheet.numbers("count")
    broken = counts.notna() & (counts % 1 != 0)
    sheet.refuse(
        "count-not-whole",
        broken,
        "a count of fish is a whole number",
        "write how many fish were landed; weights go into weight_kg",
        column="count",
    )
    return counts.mask(broken)


def _weights(sheet: Sheet) -> pd.Series:
    there = [name for name in WEIGHTS if sheet.has(name)]
    if len(there) > 1:
        sheet.refuse_file(
            "two-units",
            f"{' and '.join(there)} are all there",
            "keep one of the weight columns",
            column=there[1],
        )
    name = there[0] if there else WEIGHTS[0]
    if name == "weight_lb_oz":
        return _pound_ounces(sheet)
    factor = POUND_KG if name == "weight_lb" else 1.0
    return sheet.numbers(name, factor=factor, limit=LIMITS["weight_kg"])


def _pound_ounces(sheet: Sheet) -> pd.Series:
    text = sheet.text("weight_lb_oz")
    values = reading.pounds_and_ounces(text)
    sheet.refuse(
        "not-pounds-ounces",
        values.isna() & (text != ""),
        "this is no weight in pounds and ounces",
        "write 12-08 for 12 lb 8 oz (ounces below 16), and format the column as text "
        "if the spreadsheet turns it into a date",
        column="weight_lb_oz",
    )
    return values


def _check_rows(sheet: Sheet, returns: pd.DataFrame) -> None:
    sheet.refuse(
        "fish-without-species",
        (returns["count"] > 0) & (returns.species == ""),
        "fish were counted but no species is named",
        "name the species, or write count 0 for a blank visit",
        column="count",
    )
    sheet.refuse(
        "weight-without-fish",
        (returns["count"] == 0) & (returns.weight_kg > 0),
        "a weight is given for no fish",
        "correct the count or clear the weight",
        column="count",
    )
    if sheet.has("peg"):
        sheet.warn(
            "empty-cell",
            returns.peg == "",
            "the return names no peg and cannot teach anything about pegs",
            "ask the angler, and fill it",
            column="peg",
        )


def _check_visits(sheet: Sheet, returns: pd.DataFrame) -> None:
    named = returns[returns.visit != ""]
    named = named.assign(species=named.species.str.lower())
    sheet.refuse(
        "duplicate-visit",
        named.duplicated(["visit", "species"]),
        "this visit has a row for this species already",
        "add the counts up in one row, or give the other visit its own number",
        column="visit",
    )
    for name in ("date", "peg", "hours"):
        sheet.refuse(
            "visit-contradicts",
            named.groupby("visit")[name].transform("nunique") > 1,
            f"the rows of this visit have different {name}",
            "give each visit its own number, or make the rows agree",
            column=name,
        )
    _warn_of_blanks(sheet, named)


def _warn_of_blanks(sheet: Sheet, named: pd.DataFrame) -> None:
    caught = named.groupby("visit")["count"].transform("sum")
    sheet.warn(
        "blank-and-catch",
        (named.species == "") & (named["count"] == 0) & (caught > 0),
        "the visit is written down as blank here, but has fish in other rows",
        "delete the blank row if the fish are right",
        column="visit",
    )


def _warn_of_pegs(sheet: Sheet, peg: pd.Series, pegs: pd.DataFrame | None) -> None:
    if pegs is None:
        return
    unknown = (peg != "") & ~peg.isin(pegs.peg)
    for name in peg[unknown].unique():
        likely = reading_hint(name, pegs.peg)
        sheet.warn(
            "unknown-peg",
            unknown & (peg == name),
            "the pegs file has no such peg",
            f"did you mean {likely!r}?" if likely else "correct it, or add the peg",
            column="peg",
        )


def reading_hint(name: str, pegs: pd.Series) -> str | None:
    """Return the peg that differs only in case, spaces or leading zeros.

    Examples
    --------
    >>> reading_hint("07", pd.Series(["6", "7"]))
    '7'
    >>> reading_hint("A 1", pd.Series(["a1"]))
    'a1'
    """

    def plain(text: str) -> str:
        return text.lower().replace(" ", "").lstrip("0")

    return next((peg for peg in pegs if plain(peg) == plain(name)), None)
