"""The pieces of a river that one sheet each can show, turned along the water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

if TYPE_CHECKING:
    from pegscore.exports.edition import Edition

Paper = Literal["a4", "a3"]
SIZES_MM: dict[str, tuple[float, float]] = {"a4": (297.0, 210.0), "a3": (420.0, 297.0)}
"""ISO 216, lying."""

SIDE_MM, MAP_HIGH_SHARE = 12.0, 0.55
SCALES = (500, 1000, 1250, 2000, 2500, 5000, 10000)
"""Scales that a ruler reads; the first at which the river fits is taken."""
MOST_SHEETS = 12
OVERLAP = 0.08


@dataclass(frozen=True, slots=True)
class Sheet:
    """One piece of the river: its middle, the way it runs and the metres it shows."""

    middle: tuple[float, float]
    turned_rad: float
    wide_m: float
    high_m: float


def cut_sheets(edition: Edition, paper: Paper) -> tuple[int, list[Sheet]]:
    """Return the scale and the sheets that cover the river from its upper end."""
    wide_mm, high_mm = SIZES_MM[paper]
    for scale in SCALES:
        wide_m = (wide_mm - 2 * SIDE_MM) * scale / 1000
        high_m = high_mm * MAP_HIGH_SHARE * scale / 1000
        sheets = _sheets(edition, wide_m, high_m)
        if sheets and len(sheets) <= MOST_SHEETS:
            return scale, sheets
    return scale, sheets or _sheets(edition, wide_m, float("inf"))


def _sheets(edition: Edition, wide_m: float, high_m: float) -> list[Sheet]:
    """Cut the axis into pieces whose water fits the frame; none if one does not."""
    axis = edition.centreline
    count = max(1, int(np.ceil(axis.length / (wide_m * (1 - OVERLAP)))))
    found = []
    for start in np.arange(count) * axis.length / count:
        piece = shapely.ops.substring(axis, start, start + axis.length / count)
        (x0, y0), (x1, y1) = piece.coords[0], piece.coords[-1]
        turned = float(np.arctan2(y1 - y0, x1 - x0))
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        level = shapely.affinity.rotate(piece, -turned, middle, use_radians=True)
        low, high = level.bounds[1], level.bounds[3]
        beside_m = 2 * edition.width_m
        if high - low + beside_m > high_m:
            return []
        middle = _moved(middle, turned, (low + high) / 2 - middle[1])
        found.append(Sheet(middle, turned, wide_m, high_m))
    return found


def _moved(
    point: tuple[float, float], turned: float, aside_m: float
) -> tuple[float, float]:
    return (
        point[0] - aside_m * float(np.sin(turned)),
        point[1] + aside_m * float(np.cos(turned)),
    )
