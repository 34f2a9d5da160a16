"""Whether the rows of a table lie where the river is, and what is done if not.

Far from the water is refused; a little outside is left out with a warning.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import shapely

from layers.placement import FAR_M, MOST, NEAR_M, within

if TYPE_CHECKING:
    from shapely import Polygon

    from layers.placement import Placed
    from layers.sheet import Sheet

CHECK_ADVICE = "check the coordinates of the row and the CRS in river.toml"


def refuse_far(
    sheet: Sheet, placed: Placed, water: Polygon, *, far_m: float = FAR_M
) -> pd.Series:
    """Refuse rows far from the water, telling swapped columns from other errors.

    If it is most of the rows, the file is refused once instead.

    Returns
    -------
    Series of bool
        True for the rows that were refused.
    """
    known = placed.here.notna().all(axis="columns")
    far = known & ~within(placed.here, water, far_m)
    swapped = far & within(placed.swapped, water, far_m)
    if far.sum() > MOST * known.sum():
        if swapped.sum() > MOST * far.sum():
            _refuse_swapped_file(sheet, placed, int(swapped.sum()))
        else:
            _refuse_far_file(sheet, placed, water, far)
        return far
    sheet.refuse(
        "swapped-xy",
        swapped,
        "the place is nowhere near the river, but with the two coordinates swapped "
        "it is",
        f"swap {placed.pair.east} and {placed.pair.north} in this row",
        column=placed.pair.east,
    )
    sheet.refuse(
        "far-outside",
        far & ~swapped,
        f"the place is more than {far_m:g} m from the water",
        CHECK_ADVICE,
        column=placed.pair.east,
    )
    return far


def _refuse_swapped_file(sheet: Sheet, placed: Placed, count: int) -> None:
    east, north = placed.pair.east, placed.pair.north
    sheet.refuse_file(
        "swapped-xy",
        f"{east} and {north} are swapped: {count} places are nowhere near the river, "
        "but with the two columns swapped they are",
        f"swap the names of the columns {east} and {north}",
        column=east,
    )


def _refuse_far_file(
    sheet: Sheet, placed: Placed, water: Polygon, far: pd.Series
) -> None:
    places = placed.here[far]
    points = shapely.points(places.easting.to_numpy(), places.northing.to_numpy())
    nearest_m = float(shapely.distance(points, water).min())
    sheet.refuse_file(
        "far-outside",
        f"{len(places)} of {len(far)} places are far from the water, the nearest "
        f"{nearest_m:,.0f} m away",
        "check that the coordinates are in the CRS of river.toml, and that the "
        "channel is of this stretch",
        column=placed.pair.east,
    )


def leave_out_dry(sheet: Sheet, places: pd.DataFrame, water: Polygon) -> pd.Series:
    """Warn once of the rows that lie a little outside the water.

    Returns
    -------
    Series of bool
        True for the rows to keep: in the water, or within ``NEAR_M`` of it.
    """
    known = places.notna().all(axis="columns")
    dry = known & ~within(places, water, NEAR_M)
    if dry.any():
        _report_dry(sheet, dry, known)
    return ~dry


def _report_dry(sheet: Sheet, dry: pd.Series, known: pd.Series) -> None:
    rows = [str(row) for row in dry.index[dry][:10]]
    more = ", ..." if dry.sum() > len(rows) else ""
    what = (
        f"{int(dry.sum())} rows lie more than {NEAR_M:g} m outside the water and are "
        f"left out (rows {', '.join(rows)}{more})"
    )
    advice = "check their coordinates, or draw the water of the channel wider"
    if dry.sum() == known.sum():
        sheet.refuse_file("outside-water", f"{what}: nothing is left", advice)
        return
    first = int(dry.index[dry][0])
    sheet.problems.warn("outside-water", sheet.file, what, advice, row=first)


def in_water(sheet: Sheet, placed: Placed, water: Polygon | None) -> pd.Series:
    """Refuse what is far from the water and say which rows to keep."""
    if water is None:
        return pd.Series(data=True, index=sheet.index)
    far = refuse_far(sheet, placed, water)
    return leave_out_dry(sheet, placed.here.mask(far), water)
