"""``speeds.*``: point speeds and timed float runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from layers.columns import LIMITS
from layers.placement import ENDS, Placed, place
from layers.proximity import in_water

if TYPE_CHECKING:
    from layers.placement import Stretch
    from layers.sheet import Sheet

KINDS = ("surface", "mean", "point")

RUN = ("start_easting", "start_northing", "end_easting", "end_northing")

MOST_SPEED_M_S = LIMITS["speed_ms"].high or np.inf


def read_speeds(sheet: Sheet, stretch: Stretch) -> pd.DataFrame | None:
    """Return speeds in m/s; a float run stands at its middle, as kind ``float``."""
    starts = place(sheet, stretch)
    ends = place(sheet, stretch, ENDS, required=False)
    is_run = sheet.text("seconds") != ""
    speeds = _values(sheet, stretch, is_run)
    unused = sheet.unused()
    if not _has_quantity(sheet, ends) or starts is None:
        return None
    _check_points(sheet, ~is_run)
    _check_kinds(sheet, ~is_run)
    run = _run_places(starts, ends, is_run)
    _time_runs(sheet, speeds, run, is_run)
    middle = _middles(starts.here, run, is_run)
    keep = in_water(sheet, starts, stretch.water)
    keep &= _ends_in_water(sheet, ends, is_run, stretch)
    return pd.concat([middle, speeds, run, unused], axis="columns")[keep]


def _values(sheet: Sheet, stretch: Stretch, is_run: pd.Series) -> pd.DataFrame:
    kind = sheet.words("kind", KINDS)
    level_m = sheet.metres("level_m")
    if stretch.river is not None:
        level_m = level_m.fillna(stretch.river.gauge.level_m)
    is_point = (kind == "point") & ~is_run
    values = {
        "speed_m_s": sheet.numbers("speed_ms").mask(is_run),
        "kind": kind.mask(is_run, "float"),
        "height_frac": sheet.numbers("height_frac").where(is_point),
        "level_m": level_m,
        "seconds": sheet.numbers("seconds"),
    }
    if sheet.has("when"):
        values["when"] = sheet.moments("when")
    return pd.DataFrame(values)


def _has_quantity(sheet: Sheet, ends: Placed | None) -> bool:
    if sheet.has("seconds"):
        if ends is None:
            sheet.require(*ENDS[0][:2])
        return ends is not None
    return sheet.require("speed_ms", "kind")


def _check_points(sheet: Sheet, is_point: pd.Series) -> None:
    speed_there = sheet.text("speed_ms") != ""
    sheet.refuse(
        "two-quantities",
        ~is_point & speed_there,
        "the row has both a speed and the seconds of a float run",
        "keep one of the two in this row",
        column="seconds",
    )
    sheet.refuse(
        "empty-cell",
        is_point & ~speed_there,
        "the row has neither a speed nor the seconds of a float run",
        "fill one of the two or delete the row",
        column="speed_ms" if sheet.has("speed_ms") else "seconds",
    )


def _check_kinds(sheet: Sheet, is_point: pd.Series) -> None:
    kind = sheet.text("kind").str.lower()
    sheet.refuse(
        "empty-cell",
        is_point & (sheet.text("speed_ms") != "") & (kind == ""),
        "the row does not say what kind of speed it is",
        f"write one of {', '.join(KINDS)}",
        column="kind",
    )
    sheet.refuse(
        "empty-cell",
        is_point & (kind == "point") & (sheet.text("height_frac") == ""),
        "a point speed needs its height above the bed",
        "write it as a share of the depth into height_frac, as 0.4",
        column="height_frac" if sheet.has("height_frac") else "kind",
    )


def _run_places(starts: Placed, ends: Placed | None, is_run: pd.Series) -> pd.DataFrame:
    if ends is None:
        return pd.DataFrame(np.nan, index=is_run.index, columns=list(RUN))
    both = pd.concat([starts.here, ends.here], axis="columns").set_axis(
        list(RUN), axis="columns"
    )
    return both.where(is_run)


def _time_runs(
    sheet: Sheet, speeds: pd.DataFrame, run: pd.DataFrame, is_run: pd.Series
) -> None:
    """Put the float runs' speeds into ``speeds``, refusing what cannot be."""
    sheet.refuse(
        "empty-cell",
        is_run & run.isna().any(axis="columns"),
        "the float run lacks the place of its start or its end",
        "fill the start and the end coordinates, or delete the row",
        column="seconds",
    )
    length_m = np.hypot(
        run.end_easting - run.start_easting, run.end_northing - run.start_northing
    )
    speed_m_s = length_m / speeds.seconds
    impossible = is_run & ((speed_m_s > MOST_SPEED_M_S) | (length_m == 0))
    for row in impossible.index[impossible]:
        sheet.problems.refuse(
            "speed-range",
            sheet.file,
            f"the float went {length_m[row]:.1f} m, {speed_m_s[row]:.2f} m/s; "
            f"a speed here is over 0 and up to {MOST_SPEED_M_S:g} m/s",
            "check the start, the end and the seconds of the run",
            row=int(row),
            column="seconds",
            value=sheet.text("seconds")[row],
        )
    speeds["speed_m_s"] = speeds.speed_m_s.mask(is_run, speed_m_s)


def _middles(
    starts: pd.DataFrame, run: pd.DataFrame, is_run: pd.Series
) -> pd.DataFrame:
    middle = pd.DataFrame(
        {
            "easting": (run.start_easting + run.end_easting) / 2,
            "northing": (run.start_northing + run.end_northing) / 2,
        }
    )
    return starts.mask(is_run, middle)


def _ends_in_water(
    sheet: Sheet, ends: Placed | None, is_run: pd.Series, stretch: Stretch
) -> pd.Series:
    if ends is None:
        return pd.Series(data=True, index=sheet.index)
    runs = Placed(ends.here.where(is_run), ends.swapped.where(is_run), ends.pair)
    return in_water(sheet, runs, stretch.water)
