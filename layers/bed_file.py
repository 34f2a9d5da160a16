"""``bed.*``: what the bottom is made of, one row a grab or feel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from layers.columns import SHARE_COLUMNS
from layers.placement import place
from layers.proximity import in_water
from layers.river import SUBSTRATES

if TYPE_CHECKING:
    from layers.placement import Stretch
    from layers.sheet import Sheet

OFF_BY = 2.0
"""How far the per cents of a row may be from 100 in all."""

WORD_ADVICE = f"write one word of {', '.join(SUBSTRATES)}, or per cents"


def read_bed(sheet: Sheet, stretch: Stretch) -> pd.DataFrame | None:
    """Return the bottom samples as shares that sum to 1."""
    placed = place(sheet, stretch)
    words = sheet.words("substrate", SUBSTRATES)
    per_cent = _per_cents(sheet)
    others = {
        "weed_share": sheet.numbers("weed_pct") / 100,
        "d50_mm": sheet.numbers("d50_mm"),
    }
    if sheet.has("when"):
        others["when"] = sheet.moments("when")
    unused = sheet.unused()
    if not _has_quantity(sheet) or placed is None:
        return None
    by_feel = words.notna() | (sheet.text("substrate") != "")
    _check_rows(sheet, by_feel, per_cent)
    shares = _shares(words, per_cent)
    samples = pd.concat(
        [placed.here, shares, by_feel.rename("by_feel"), pd.DataFrame(others), unused],
        axis="columns",
    )
    return samples[in_water(sheet, placed, stretch.water)]


def _per_cents(sheet: Sheet) -> pd.DataFrame:
    return pd.DataFrame(
        {
            name: sheet.numbers(column)
            for name, column in zip(SUBSTRATES, SHARE_COLUMNS, strict=True)
        }
    )


def _has_quantity(sheet: Sheet) -> bool:
    if any(sheet.has(name) for name in SHARE_COLUMNS):
        return True
    return sheet.require("substrate")


def _check_rows(sheet: Sheet, by_feel: pd.Series, per_cent: pd.DataFrame) -> None:
    written = pd.DataFrame({name: sheet.text(name) != "" for name in SHARE_COLUMNS})
    any_per_cent = written.any(axis="columns")
    column = next(name for name in (*SHARE_COLUMNS, "substrate") if sheet.has(name))
    sheet.refuse(
        "two-quantities",
        by_feel & any_per_cent,
        "the row has both a word and per cents",
        "keep the per cents, or keep the word",
        column="substrate",
    )
    sheet.refuse(
        "empty-cell",
        ~by_feel & ~any_per_cent,
        "the row does not say what the bottom is",
        WORD_ADVICE,
        column=column,
    )
    broken = (written.to_numpy() & per_cent.isna().to_numpy()).any(axis=1)
    _refuse_sums(sheet, per_cent[any_per_cent & ~broken], column)


def _refuse_sums(sheet: Sheet, per_cent: pd.DataFrame, column: str) -> None:
    total = per_cent.sum(axis="columns")
    for row in total.index[(total - 100).abs() > OFF_BY]:
        sheet.problems.refuse(
            "shares-sum",
            sheet.file,
            f"the per cents sum to {total[row]:g}, not to 100",
            f"correct them to sum to 100, within {OFF_BY:g}",
            row=int(row),
            column=column,
            value=f"{total[row]:g}",
        )


def _shares(words: pd.Series, per_cent: pd.DataFrame) -> pd.DataFrame:
    total = per_cent.sum(axis="columns")
    counted = per_cent.fillna(0).div(total.where(total > 0), axis="index")
    felt = pd.DataFrame({name: (words == name).astype(float) for name in SUBSTRATES})
    return counted.where(words.isna(), felt)
