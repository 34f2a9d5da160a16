"""``pegs.*``: the numbered places of the bank."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import shapely

from layers.bankside import bank_of
from layers.placement import place
from layers.plausible import warn_of_one_place
from layers.proximity import refuse_far

if TYPE_CHECKING:
    from shapely import Polygon

    from layers.placement import Stretch
    from layers.sheet import Sheet

BANKS = ("left", "right")

FAR_FROM_WATER_M = 30.0
"""A peg further than this from the water's edge cannot be fished from."""

IN_WATER_M = 5.0
"""A peg this far out in the water stands on no bank: a staging is shorter."""


def read_pegs(sheet: Sheet, stretch: Stretch) -> pd.DataFrame | None:
    """Return the pegs in file order, ``bank`` as the file says."""
    placed = place(sheet, stretch)
    opened = sheet.yes_no("open")
    values = {
        "peg": sheet.text("peg"),
        "bank": sheet.words("bank", BANKS),
        "open": opened.where(opened.notna(), other=True).astype(bool),
        "step_free": sheet.yes_no("step_free"),
        "walk_m": sheet.metres("walk_m"),
        "note": sheet.text("note"),
    }
    unused = sheet.unused()
    if not sheet.require("peg"):
        return None
    sheet.refuse_empty("peg")
    _refuse_twice(sheet, values["peg"])
    if placed is None:
        return None
    pegs = pd.concat([placed.here, pd.DataFrame(values), unused], axis="columns")
    if stretch.water is not None:
        far = refuse_far(sheet, placed, stretch.water, far_m=FAR_FROM_WATER_M)
        sound = pegs[~far].dropna(subset=["easting", "northing"])
        _warn_of_wading(sheet, sound, stretch.water)
        _warn_of_banks(sheet, sound, stretch)
        warn_of_one_place(sheet, sound)
    first = ["peg", "easting", "northing"]
    return pegs[[*first, *(name for name in pegs if name not in first)]]


def _refuse_twice(sheet: Sheet, peg: pd.Series) -> None:
    key = peg.str.lower()
    twice = (peg != "") & key.duplicated(keep=False)
    for name in key[twice].unique():
        rows = key.index[key == name]
        sheet.refuse(
            "duplicate-peg",
            twice & (key == name) & (key.index != rows[0]),
            f"this peg is in row {rows[0]} already",
            "give every peg a number or name of its own",
            column="peg",
        )


def _warn_of_wading(sheet: Sheet, pegs: pd.DataFrame, water: Polygon) -> None:
    points = shapely.points(pegs.easting.to_numpy(), pegs.northing.to_numpy())
    wading = shapely.contains(water, points) & (
        shapely.distance(points, water.boundary) > IN_WATER_M
    )
    sheet.warn(
        "peg-in-water",
        pd.Series(wading, index=pegs.index),
        f"the peg lies more than {IN_WATER_M:g} m out in the water",
        "give the place where the angler sits",
        column="peg",
    )


def against_banks(pegs: pd.DataFrame, stretch: Stretch) -> pd.Series:
    """Say which pegs have a bank written that the geometry contradicts."""
    if stretch.centreline is None:
        return pd.Series(data=False, index=pegs.index)
    lies = bank_of(stretch.centreline, pegs.easting, pegs.northing)
    given = pegs.bank.notna() & pegs.easting.notna()
    return given & pegs.bank.ne(pd.Series(lies, index=pegs.index))


def _warn_of_banks(sheet: Sheet, pegs: pd.DataFrame, stretch: Stretch) -> None:
    sheet.warn(
        "bank-contradicts",
        against_banks(pegs, stretch),
        "the peg lies on the other bank of the centreline, seen facing downstream; "
        "where it lies is what counts",
        "correct the bank, or the coordinates",
        column="bank",
    )
