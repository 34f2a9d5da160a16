"""A drawn layout against every rule, scored afresh; nothing in its file is believed."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pegscore.candidates import judged_seats
from pegscore.conflicts import facing, too_close
from pegscore.fair_sections import split_sections
from pegscore.layout import CLOSED, Pool, plan_table, weighed
from pegscore.layout_file import ROUNDING_M
from pegscore.layout_rules import ALL
from pegscore.peg_choice import splits_of
from pegscore.pegs import place_pegs

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from pegscore.candidates import BankWishes
    from pegscore.layout_rules import LayoutRules
    from pegscore.workflow import Run

    Objects = NDArray[np.object_]

OFF_BANK_M = 10.0
"""Further than this from the water's edge is not on the bank; [P], our proposal."""

WET_M = 1.0
"""Further than this into the water nobody sits; [P], the outline's own error."""

SAME_M = 1.0
"""A drawn peg this near to a present one of its name is that peg; [P]."""


class Checked(NamedTuple):
    """A drawn layout's table, as ``layout_file.COLUMNS``, and what it breaks."""

    table: gpd.GeoDataFrame
    breaks: tuple[str, ...]


def check_layout(
    run: Run,
    drawn: pd.DataFrame,
    rules: LayoutRules,
    weights: Mapping[str, float],
    levels_m: Sequence[float],
    *,
    wishes: BankWishes | None = None,
) -> Checked:
    """Return a drawn layout with its scores and every rule that it breaks.

    Parameters
    ----------
    drawn : DataFrame
        From ``pegscore.layout_file.read_layout``.
    rules : LayoutRules
        ``pegs`` is the number that is wanted.
    """
    drawn = drawn.copy()
    for name, column in _told_of_present(run, drawn).items():
        drawn[name] = pd.Series(column, index=drawn.index, dtype=object)
    seats = place_pegs(drawn, run.channel, run.survey.river.crs)
    found = judged_seats(run, seats, list(weights), levels_m, wishes=wishes)
    table = found.table.assign(
        peg=found.table.index.astype(str), told=drawn["bank"].to_numpy()
    )
    rows = np.lexsort((table["bank_m"], table["bank"]))
    pool = Pool(replace(found, table=table), weighed(found, weights))
    ordered = table.iloc[rows]
    keep = rules.keep
    if keep == (ALL,):  # all that no rule forbids, and so that no wish does either
        present = judged_seats(run, run.pegs, list(weights), levels_m, wishes=wishes)
        barred = (present.table["excluded"] != "") | ~run.pegs["open"].astype(bool)
        keep = tuple(run.pegs.index[~barred])
    breaks = [
        *_misplaced(ordered, run),
        *_forbidden(ordered),
        *_crowded(ordered, rules),
        *_missing(ordered, run, keep),
        *_counts(ordered, rules),
    ]
    layout = plan_table(pool, rows)
    return Checked(_sectioned(layout, rules.sections), tuple(breaks))


def _told_of_present(run: Run, drawn: pd.DataFrame) -> dict[str, list[object]]:
    """Return what the club's file says of drawn pegs that stand where they stood."""
    told: dict[str, list[object]] = {"open": [], "step_free": []}
    present = {
        str(row["peg"]): row for row in run.pegs.reset_index().to_dict("records")
    }
    for row in drawn.to_dict("records"):
        peg = present.get(str(row["peg"]))
        same = peg is not None and math.dist(_place(peg), _place(row)) <= SAME_M
        told["open"].append(bool(peg["open"]) if peg and same else True)
        told["step_free"].append(peg["step_free"] if peg and same else None)
    return told


def _place(row: Mapping[Any, Any]) -> tuple[float, float]:
    return float(row["easting"]), float(row["northing"])


def _misplaced(table: gpd.GeoDataFrame, run: Run) -> list[str]:
    points = np.asarray(table.geometry.array, object)
    off_m = np.hypot(
        table["easting"] - table["edge_easting"],
        table["northing"] - table["edge_northing"],
    )
    wet = shapely.contains(run.survey.water, points)
    found = []
    for name, bank, told, off, in_water in zip(
        table["peg"], table["bank"], table["told"], off_m, wet, strict=True
    ):
        if off > OFF_BANK_M:
            found.append(
                f"peg {name}: {off:.1f} m from the water's edge, not on a bank"
            )
        elif in_water and off > WET_M:
            found.append(f"peg {name}: stands in the water, {off:.1f} m from the edge")
        if told and told != bank:
            found.append(f"peg {name}: on the {bank} bank, not the {told} one")
    return found


def _forbidden(table: gpd.GeoDataFrame) -> list[str]:
    closed = [
        f"peg {name}: {CLOSED}"
        for name, is_open in zip(table["peg"], table["open"], strict=True)
        if not is_open
    ]
    return closed + [
        f"peg {name}: {why}"
        for name, why in zip(table["peg"], table["excluded"], strict=True)
        if why
    ]


def _crowded(table: gpd.GeoDataFrame, rules: LayoutRules) -> list[str]:
    name, bank = (table[column].to_numpy(object) for column in ("peg", "bank"))
    east, north = (table[column].to_numpy(float) for column in ("easting", "northing"))
    found = []
    for one, other in too_close(east, north, bank, rules.spacing_m - ROUNDING_M):
        apart_m = np.hypot(east[one] - east[other], north[one] - north[other])
        found.append(
            f"pegs {name[one]} and {name[other]}: {apart_m:.2f} m apart, nearer than "
            f"{rules.spacing_m:g} m"
        )
    if rules.across:
        for one, other in facing(gpd.GeoSeries(table["swim"]), bank):
            found.append(
                f"pegs {name[one]} and {name[other]}: face each other and fish the "
                "same water"
            )
    return found


def _missing(table: gpd.GeoDataFrame, run: Run, keep: Sequence[str]) -> list[str]:
    """Say which kept pegs are gone or no longer stand where they stood."""
    found = []
    for name in keep:
        if name not in run.pegs.index:
            found.append(f"peg {name} cannot be kept: there is none")
        elif name not in table.index:
            found.append(f"peg {name} must stay but is not in the layout")
        else:
            now, then = (dict(t.loc[name]) for t in (table, run.pegs))
            if math.dist(_place(now), _place(then)) > SAME_M:
                found.append(f"peg {name} must stay but was moved")
    return found


def _counts(table: gpd.GeoDataFrame, rules: LayoutRules) -> list[str]:
    found = []
    if len(table) != rules.pegs:
        found.append(f"{len(table)} pegs are drawn, {rules.pegs} were asked for")
    free = int(table["step_free"].sum())
    if free < rules.step_free:
        found.append(f"{free} pegs are step-free, {rules.step_free} were asked for")
    left = int((table["bank"] == "left").sum())
    split = (left, len(table) - left)
    if rules.sections and split not in splits_of(len(table), rules.sections):
        found.append(
            f"{split[0]} pegs on the left and {split[1]} on the right bank do not "
            f"make {rules.sections} even sections, each on one bank"
        )
    return found


def _sectioned(layout: gpd.GeoDataFrame, sections: int) -> gpd.GeoDataFrame:
    left = (layout["bank"] == "left").to_numpy(bool)
    split = (int(left.sum()), int((~left).sum()))
    if not sections or split not in splits_of(len(layout), sections):
        return layout
    scores = np.nan_to_num(layout["score"].to_numpy(float))
    one, other = split_sections(scores[left], scores[~left], sections)
    layout["section"] = np.concatenate([one, other])
    return layout
