"""What the eye reads on the water: creases, shelves, slacks, gravel edges, cover.

Derived from the layers at one level; no better than they are. A crease is where pace
changes fastest across the stream, a shelf where depth does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from layers.contours import level_lines
from layers.covers import covers
from layers.raster import outlines
from layers.reaeration import reaeration_per_day
from layers.ribbon import Ribbon, smoothed_along
from layers.ridges import (
    SMOOTHING_M,
    Edges,
    filled_to_edge,
    find_ridges,
    lateral_gradient,
)
from layers.slacks import slack_masks

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray
    from shapely import LineString

    from layers.channel import Channel
    from layers.stack import Stack

    Array = NDArray[np.float64]
    Raster = NDArray[np.float32]
    Row = dict[str, object]

CREASE = Edges(low=0.03, high=0.05, least_m=10.0, margin_m=2.0)
"""Pace changing by so many m/s a metre across makes a crease: 0.05 is from 0.25 to
0.5 m/s over 5 m. Within 2 m of the water's edge it is the edge itself. [P]"""

SHELF = Edges(low=0.12, high=0.20, least_m=10.0)
"""Depth changing by so many metres a metre across makes a shelf: 1 in 5. [P]"""

ALONG_M = 2.0
"""Standard deviation of the Gaussian down the river that steadies the gradients. [P]"""

GRAVEL = ("gravel", "cobble")
HALF = 0.5
LEAST_EDGE_M = 6.0
"""Shorter edges of gravel are not drawn. [P]"""

SIMPLIFIED_CELLS = 0.25
"""Lines lose corners finer than this share of a cell. [P]"""

LINE_COLUMNS = ("kind", "strength", "unit", "chainage_m", "offset_m")
AREA_COLUMNS = ("kind", "area_m2")
UNITS: Mapping[str, str] = {
    "crease": "m/s per m",
    "shelf": "m per m",
    "gravel_edge": "share per m",
}
"""Unit of each kind of line's strength."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """What lies on and in the water at one level.

    Parameters
    ----------
    level_m : float
        The board's reading.
    lines : GeoDataFrame
        ``kind`` (``crease``, ``shelf`` or ``gravel_edge``), ``strength`` (mean size of
        the change across, in the unit of the column ``unit``), ``chainage_m`` and
        ``offset_m`` (means) and the line, drawn downstream but for gravel edges.
    areas : GeoDataFrame
        ``kind`` (``slack``, ``lee``, ``shade`` or ``cover``), ``area_m2`` and the
        polygon. A lee deep enough is part of a slack too.
    rasters : mapping of str to float32 array (row, column)
        ``speed_gradient`` (size of the change across, 1/s), ``depth_gradient`` (m/m),
        ``slack`` (1 or 0) and ``reaeration`` (per day to base e at 20 °C); ``NaN``
        where dry or unknown.
    """

    level_m: float
    lines: gpd.GeoDataFrame
    areas: gpd.GeoDataFrame
    rasters: Mapping[str, Raster]


def find_structure(
    stack: Stack,
    channel: Channel,
    *,
    level_m: float,
    places: gpd.GeoDataFrame | None = None,
) -> Structure:
    """Find creases, shelves, slacks, gravel edges, shade and cover at one level.

    Parameters
    ----------
    stack : Stack
        Layers that hold the level.
    channel : Channel
        The river's own coordinates.
    level_m : float
        The board's reading, metres.
    places : GeoDataFrame, optional
        ``kind`` and geometry in the survey's system; trees, snags and weed are used,
        nothing else is looked at.

    Raises
    ------
    LevelMissing
        If the stack does not hold the level.
    """
    ribbon = Ribbon.over(channel, stack.grid)
    steady = {
        name: smoothed_along(
            ribbon.sample(stack.layer(name, level_m=level_m)), ALONG_M / ribbon.step_m
        )
        for name in ("speed", "depth")
    }
    pace, deep = (lateral_gradient(values, ribbon.step_m) for values in steady.values())
    slack, lee = slack_masks(stack, ribbon, level_m)
    lines = [
        *_ridge_rows("crease", ribbon, pace, CREASE),
        *_ridge_rows("shelf", ribbon, deep, SHELF),
        *_gravel_rows(stack, channel, level_m),
    ]
    areas = [
        *(("slack", shape) for shape in outlines(slack, stack.grid)),
        *(("lee", shape) for shape in outlines(lee, stack.grid)),
        *covers(places, channel.water),
    ]
    return Structure(
        level_m=level_m,
        lines=_table(lines, LINE_COLUMNS, stack),
        areas=_table(
            [
                {"kind": kind, "area_m2": float(shape.area), "geometry": shape}
                for kind, shape in areas
            ],
            AREA_COLUMNS,
            stack,
        ),
        rasters=_rasters(stack, ribbon, level_m, steady, slack),
    )


def _ridge_rows(
    kind: str, ribbon: Ribbon, gradient: Array, edges: Edges
) -> Iterator[Row]:
    for ridge in find_ridges(gradient, edges, step_m=ribbon.step_m):
        chainage_m = ribbon.chainage_m[ridge.section]
        nodes = ridge.smooth_node(SMOOTHING_M / ribbon.step_m)
        offset_m = ribbon.offset_m[0] + ribbon.step_m * nodes
        yield {
            "kind": kind,
            "strength": float(np.mean(ridge.strength)),
            "unit": UNITS[kind],
            "chainage_m": float(chainage_m.mean()),
            "offset_m": float(offset_m.mean()),
            "geometry": _line(ribbon, chainage_m, offset_m),
        }


def _line(ribbon: Ribbon, chainage_m: Array, offset_m: Array) -> LineString:
    east, north = ribbon.channel.to_world(chainage_m, offset_m)
    line = shapely.LineString(np.column_stack([east, north]))
    simple = line.simplify(SIMPLIFIED_CELLS * ribbon.step_m)
    return shapely.LineString(simple.coords)


def _gravel_rows(stack: Stack, channel: Channel, level_m: float) -> Iterator[Row]:
    """Yield the edges of gravel: where half the bottom is gravel or coarser stones."""
    shares = [stack.layer(name) for name in GRAVEL if stack.holds(name)]
    if not shares:
        return
    gravel = np.where(
        np.isfinite(stack.layer("depth", level_m=level_m)),
        np.sum(shares, axis=0),
        np.nan,
    )
    down, right = np.gradient(gravel.astype(np.float64), stack.grid.cell_m)
    slope = np.hypot(down, right)
    for line in level_lines(gravel, stack.grid, at=HALF):
        if line.length < LEAST_EDGE_M:
            continue
        row, column = stack.grid.cell_at(*shapely.get_coordinates(line).T)
        chainage_m, offset_m = channel.to_channel(*shapely.get_coordinates(line).T)
        steep = slope[row, column]
        yield {
            "kind": "gravel_edge",
            "strength": float(np.nanmean(steep))
            if np.isfinite(steep).any()
            else np.nan,
            "unit": UNITS["gravel_edge"],
            "chainage_m": float(chainage_m.mean()),
            "offset_m": float(offset_m.mean()),
            "geometry": line.simplify(SIMPLIFIED_CELLS * stack.grid.cell_m),
        }


def _rasters(
    stack: Stack,
    ribbon: Ribbon,
    level_m: float,
    steady: Mapping[str, Array],
    slack: NDArray[np.bool_],
) -> dict[str, Raster]:
    depth_m = stack.layer("depth", level_m=level_m)
    speed_m_s = stack.layer("speed", level_m=level_m)
    found = {
        f"{name}_gradient": _laid(stack, ribbon, _steepness(values, ribbon.step_m))
        for name, values in steady.items()
    }
    found["slack"] = slack.astype(np.float64)
    found["reaeration"] = reaeration_per_day(speed_m_s, depth_m)
    wet = np.isfinite(depth_m)
    return {
        name: np.where(wet, values, np.nan).astype(np.float32)
        for name, values in found.items()
    }


def _steepness(values: Array, step_m: float) -> Array:
    """Return the size of the change across, up to the water's edge."""
    gradient = lateral_gradient(values, step_m)
    return np.abs(filled_to_edge(gradient, values, step_m))


def _laid(stack: Stack, ribbon: Ribbon, values: Array) -> Array:
    raster = np.full(stack.grid.shape, np.nan)
    raster[ribbon.cells.rows, ribbon.cells.columns] = ribbon.at_cells(values)
    return raster


def _table(rows: list[Row], columns: tuple[str, ...], stack: Stack) -> gpd.GeoDataFrame:
    table = pd.DataFrame(rows, columns=[*columns, "geometry"])
    return gpd.GeoDataFrame(table, geometry="geometry", crs=stack.grid.crs)
