"""Rough channel coordinates along the centreline as it was drawn.

For checks of what was handed in; the layers use the fitted ``Channel``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely import LineString

HALF_STEP_M = 0.5
"""The line's direction at a place is read this far to either side: our own choice."""


def along_and_across(
    centreline: LineString, easting: ArrayLike, northing: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return metres along the line, and across it with left positive.

    Examples
    --------
    >>> line = shapely.LineString([(0, 0), (100, 0)])
    >>> along, across = along_and_across(line, [30.0, 60.0], [4.0, -5.0])
    >>> along.tolist(), across.tolist()
    ([30.0, 60.0], [4.0, -5.0])
    """
    east = np.asarray(easting, np.float64)
    north = np.asarray(northing, np.float64)
    known = np.isfinite(east) & np.isfinite(north)
    along, across = np.full(east.shape, np.nan), np.full(east.shape, np.nan)
    points = shapely.points(east[known], north[known])
    shapely.prepare(centreline)
    at_m = shapely.line_locate_point(centreline, points)
    before = shapely.line_interpolate_point(
        centreline, np.maximum(at_m - HALF_STEP_M, 0)
    )
    after = shapely.line_interpolate_point(
        centreline, np.minimum(at_m + HALF_STEP_M, centreline.length)
    )
    on_line = shapely.line_interpolate_point(centreline, at_m)
    ahead = shapely.get_coordinates(after) - shapely.get_coordinates(before)
    aside = shapely.get_coordinates(points) - shapely.get_coordinates(on_line)
    turn = ahead[:, 0] * aside[:, 1] - ahead[:, 1] * aside[:, 0]
    along[known] = at_m
    across[known] = np.sign(turn) * np.hypot(aside[:, 0], aside[:, 1])
    return along, across


def bank_of(
    centreline: LineString, easting: ArrayLike, northing: ArrayLike
) -> list[str | None]:
    """Return ``left`` or ``right`` as seen facing downstream; None if unknown."""
    _, across = along_and_across(centreline, easting, northing)
    return [
        None if np.isnan(side) else "left" if side >= 0 else "right" for side in across
    ]
