"""``soundings.*``: depths or bed elevations, each with the board's reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from layers.bankside import along_and_across
from layers.columns import Limit
from layers.placement import place
from layers.plausible import warn_of_depths, warn_of_levels, warn_of_repeats
from layers.proximity import in_water
from layers.soundings import ALONG_STRETCH, find_spikes

if TYPE_CHECKING:
    from layers.placement import Stretch
    from layers.sheet import Sheet

QUANTITIES = ("depth_m", "depth_ft", "bed_m", "bed_ft")

DEEPEST_M = 30.0
"""A bed further from the water's elevation than this is in another datum."""

SAME_PLACE_M = 0.1
"""Soundings whose coordinates round to the same multiple of this are at one place."""

CONFLICT_M = 0.5
"""Soundings at one place that differ by more than this contradict each other."""


def read_soundings(sheet: Sheet, stretch: Stretch) -> pd.DataFrame | None:
    """Return the soundings in metres, without those outside the water."""
    quantity = _quantity(sheet)
    placed = place(sheet, stretch)
    level_m = _levels(sheet, stretch)
    values = {
        "depth_m": sheet.metres("depth_m"),
        "bed_m": sheet.metres("bed_m", limit=_bed_limit(stretch)),
        "level_m": level_m,
        "sd_m": sheet.metres("sd_m"),
        "when": sheet.moments("when"),
    }
    if not sheet.has("when"):
        del values["when"]
    unused = sheet.unused()
    if quantity is not None:
        sheet.refuse_empty(quantity)
    if placed is None or quantity is None:
        return None
    soundings = pd.concat([placed.here, pd.DataFrame(values), unused], axis="columns")
    kept = soundings[in_water(sheet, placed, stretch.water)]
    _warn_of_odd(sheet, kept, quantity, stretch)
    warn_of_repeats(sheet)
    warn_of_depths(sheet, kept, stretch)
    warn_of_levels(sheet, kept.level_m, stretch)
    return kept


def _quantity(sheet: Sheet) -> str | None:
    there = [name for name in QUANTITIES if sheet.has(name)]
    if len(there) == 1:
        return there[0]
    if there:
        sheet.refuse_file(
            "two-quantities",
            f"the file has {' and '.join(there)}",
            "keep exactly one of depth_m, depth_ft and bed_m",
            column=there[1],
        )
    else:
        sheet.require("depth_m")
    return None


def _levels(sheet: Sheet, stretch: Stretch) -> pd.Series:
    levels = sheet.metres("level_m")
    return (
        levels if stretch.river is None else levels.fillna(stretch.river.gauge.level_m)
    )


def _bed_limit(stretch: Stretch) -> Limit | None:
    if stretch.river is None:
        return None
    water_m = stretch.river.gauge.zero_m + stretch.river.gauge.level_m
    advice = (
        f"the board's water stands at {water_m:.2f} m: use one vertical datum for "
        "both, and put depths into depth_m"
    )
    return Limit(
        thing="bed",
        low=water_m - DEEPEST_M,
        high=water_m + DEEPEST_M,
        unit="m above the datum",
        low_advice=advice,
        high_advice=advice,
    )


def _warn_of_odd(
    sheet: Sheet, soundings: pd.DataFrame, quantity: str, stretch: Stretch
) -> None:
    known = soundings.dropna(subset=["easting", "northing"])
    height_m = bed_height(known)
    known, height_m = known[height_m.notna()], height_m.dropna()
    if known.empty:
        return
    conflict = _conflicts(known, height_m)
    sheet.warn(
        "sounding-conflict",
        conflict,
        f"soundings at this one place differ by more than {CONFLICT_M:g} m",
        "sound it again and delete the wrong one",
        column=quantity,
    )
    spike = _spikes(known, height_m, stretch)
    sheet.warn(
        "depth-spike",
        spike & ~conflict,
        "the sounding stands out from its neighbours",
        "check the note book, or sound it again; it is left out of the bed",
        column=quantity,
    )


def _spikes(known: pd.DataFrame, height_m: pd.Series, stretch: Stretch) -> pd.Series:
    along, across = known.easting.to_numpy(), known.northing.to_numpy()
    if stretch.centreline is not None:
        along, across = along_and_across(stretch.centreline, along, across)
        along = along / ALONG_STRETCH
    spikes = find_spikes(along, across, height_m.to_numpy())
    return pd.Series(spikes, index=known.index)


def bed_height(soundings: pd.DataFrame) -> pd.Series:
    """Return heights (m) of the bed above a level plane, up to a constant.

    Good enough to compare neighbours: a depth becomes the board's reading less
    the depth, without the water's slope.
    """
    levelled = soundings.level_m - soundings.depth_m
    return soundings.bed_m.where(soundings.bed_m.notna(), levelled)


def _conflicts(known: pd.DataFrame, height_m: pd.Series) -> pd.Series:
    places = [
        np.round(known.easting / SAME_PLACE_M),
        np.round(known.northing / SAME_PLACE_M),
    ]
    groups = height_m.groupby(places)
    return (groups.transform("max") - groups.transform("min")) > CONFLICT_M
