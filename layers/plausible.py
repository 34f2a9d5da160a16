"""What can be but hardly is: told as a warning, with the slip it usually comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

    from layers.placement import Stretch
    from layers.sheet import Sheet

LEAST_BREADTH = 6.0
"""Breadth over median depth below which depths are held to be feet: our proposal.
Natural rivers are broader for their depth by far."""

LEVEL_FAR_M = 1.0
"""Readings of a table that are all further from the board's own than this are told
of: our proposal."""

FEWEST_SOUNDINGS = 10
"""Below this a bed is hardly surveyed: our own choice."""

SAME_PLACE_M = 0.1
"""Pegs nearer than about this to each other are at one place."""


def warn_of_breaks(sheet: Sheet) -> None:
    """Warn of line breaks within cells: a stray quote may have joined two rows."""
    for name in filter(sheet.has, sheet.known):
        sheet.warn(
            "line-break",
            sheet.text(name).str.contains(r"[\r\n]", regex=True),
            "there is a line break within the cell",
            "see that a quote has not joined two rows; write it in one line",
            column=name,
        )


def warn_of_repeats(sheet: Sheet) -> None:
    """Warn once of rows that say in every cell what an earlier row says."""
    again = sheet.repeated()
    if again.any():
        sheet.problems.warn(
            "repeated-rows",
            sheet.file,
            f"{int(again.sum())} rows are the same as earlier ones in every cell",
            "delete them if the file was pasted together twice",
            row=int(again.index[again][0]),
        )


def warn_of_depths(sheet: Sheet, soundings: pd.DataFrame, stretch: Stretch) -> None:
    """Warn of too few soundings, of depths all nought, or deep for the breadth."""
    if len(soundings) < FEWEST_SOUNDINGS:
        sheet.warn_file(
            "few-soundings",
            f"there are few soundings ({len(soundings)}): the bed between them is a "
            "guess",
            "sound lines across the river, 10 to 20 m apart",
        )
    column = "depth_ft" if sheet.has("depth_ft") else "depth_m"
    depth_m = soundings.depth_m.dropna()
    if not sheet.has(column) or depth_m.empty:
        return
    if (depth_m == 0).all():
        sheet.warn_file(
            "all-nought",
            "every depth is 0",
            "leave unknown depths out: 0 is dry ground",
            column=column,
        )
    _warn_of_feet(sheet, float(depth_m.median()), stretch)


def _warn_of_feet(sheet: Sheet, depth_m: float, stretch: Stretch) -> None:
    if stretch.water is None or stretch.centreline is None or sheet.has("depth_ft"):
        return
    breadth_m = stretch.water.area / stretch.centreline.length
    if depth_m * LEAST_BREADTH > breadth_m:
        sheet.warn_file(
            "deep-for-its-breadth",
            f"depths of {depth_m:.1f} m in the middle are deep for water "
            f"{breadth_m:.0f} m wide",
            "name the column depth_ft if they are feet",
            column="depth_m",
        )


def warn_of_levels(sheet: Sheet, level_m: pd.Series, stretch: Stretch) -> None:
    """Warn where the readings of a table are all far from the board's own level."""
    if stretch.river is None or not sheet.has("level_m"):
        return
    own_m = stretch.river.gauge.level_m
    far_m = float((level_m - own_m).abs().min())
    if far_m > LEVEL_FAR_M:
        sheet.warn_file(
            "level-far",
            f"all readings are over {far_m:.1f} m from the board's own level of "
            f"{own_m:g} m",
            "check that they are of the same board, in metres; name the column "
            "level_ft if they are feet",
            column="level_m",
        )


def warn_of_falling_flow(sheet: Sheet, flows: pd.DataFrame) -> None:
    """Warn where gaugings say that less water flows at a higher level."""
    known = flows[["level_m", "flow_m3_s"]].dropna().to_numpy(float)
    rise = np.sign(known[:, None] - known[None, :])
    if float((rise[..., 0] * rise[..., 1]).sum()) < 0:
        sheet.warn_file(
            "flow-falls",
            "the flow falls as the level rises",
            "check that level_m and flow_m3s are not mixed up",
            column="flow_m3s",
        )


def warn_of_one_place(sheet: Sheet, pegs: pd.DataFrame) -> None:
    """Warn of pegs that stand where another does."""
    known = pegs.dropna(subset=["easting", "northing"])
    place = (known[["easting", "northing"]] / SAME_PLACE_M).round()
    first = known.peg.groupby([place.easting, place.northing]).transform("first")
    for row in known.index[place.duplicated()]:
        sheet.problems.warn(
            "same-place",
            sheet.file,
            f"the peg stands at the same place as peg {first[row]}",
            "correct one of the two places",
            row=int(row),
            column="peg",
            value=str(known.peg[row]),
        )
