"""A swim from above, as it is seen from the peg: bank below, far water on top."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from scipy import ndimage

from pegscore.layer_points import at_points
from pegscore.prints import style
from pegscore.prints.plan_furniture import (
    draw_flow,
    draw_north,
    draw_scale,
    put_label,
)
from pegscore.prints.style import axes_at
from pegscore.prints.turned import Turned
from pegscore.units import METRES_PER_FOOT

if TYPE_CHECKING:
    import geopandas as gpd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from pegscore.run_line import RunLine
    from pegscore.swim_marks import Mark
    from pegscore.swim_sheet import SwimSheet
    from pegscore.workflow import Run

    Floats = NDArray[np.float64]

BEHIND_M, MARGIN_M = 3.5, 2.5
"""How much bank is shown behind the peg, and how much round the swim."""

RASTER_M = 0.5
GREYS = ("0.97", "0.90", "0.83", "0.76", "0.69", "0.62", "0.55")
"""Shallow to deep: light enough for ink to be read on."""

SHADES = 6
STEPS = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0)
"""What a step of depth may be; the smallest that needs no more than ``SHADES``."""

HAZARDS = {
    "overhead_line": "overhead line",
    "weir": "weir",
    "steep_bank": "steep bank",
    "soft_bank": "soft bank",
    "deep_margin": "deep margin",
    "outfall": "outfall",
    "no_fishing": "no fishing",
}
"""The places that a plan shows as hazards, and what they are called on it."""

STRUCTURE: dict[str, dict[str, Any]] = {
    "crease": {"ls": (0, (6, 2, 1, 2)), "lw": 1.3},
    "shelf": {"ls": (0, (1, 1.2)), "lw": 1.5},
    "gravel_edge": {"ls": (0, (3, 1.5)), "lw": 0.8},
}
HATCHES = {"slack": "////", "lee": "////", "shade": "...", "cover": "", "weed": "xx"}


def draw_plan(
    page: Figure,
    box_mm: tuple[float, float, float, float],
    sheet: SwimSheet,
    run: Run,
    units: str,
) -> None:
    """Draw the swim from above into a box, turned so that the angler looks up.

    Parameters
    ----------
    page : Figure
    box_mm : tuple of float
        Left, top, width, height in millimetres from the top left.
    sheet : SwimSheet
        With a line.
    run : Run
        Layers, water and places round it.
    units : {'metric', 'imperial'}
    """
    line = sheet.line
    if line is None:
        return
    peg = run.pegs.iloc[[[str(name) for name in run.pegs.index].index(sheet.peg)]]
    turned = _turned(peg, line)
    axes = axes_at(page, box_mm)
    _frame(axes, turned.shape(peg["swim"].iloc[0]), box_mm[2] / box_mm[3])
    unit_m = METRES_PER_FOOT if units == "imperial" else 1.0
    _draw_depth(axes, turned, run, (sheet.level_m, unit_m))
    _draw_shape(axes, turned.shape(run.survey.water), fc="none", lw=1.4)
    _draw_shape(axes, turned.shape(peg["swim"].iloc[0]), fc="none", lw=0.8, ls="--")
    _draw_marks(axes, turned, (*sheet.structure, *sheet.things))
    _draw_hazards(axes, turned, run.survey.places)
    _draw_line(axes, turned, line, sheet)
    _draw_ticks(axes, turned, line, unit_m)
    _draw_peg(axes, turned, peg)
    draw_north(axes, (turned.right[1], turned.up[1]))
    draw_flow(axes, flows_left=sheet.flows_left)
    draw_scale(axes, units)


def _turned(peg: gpd.GeoDataFrame, line: RunLine) -> Turned:
    """Turn so that up is from the water's edge to the run line."""
    edge = np.array([peg["edge_easting"].iloc[0], peg["edge_northing"].iloc[0]])
    abreast = [np.interp(0.0, line.along_m, c) for c in (line.easting, line.northing)]
    out = np.array(abreast) - edge
    up_e, up_n = out / np.hypot(*out)
    return Turned(
        origin=(float(edge[0]), float(edge[1])),
        right=(float(up_n), float(-up_e)),
        up=(float(up_e), float(up_n)),
    )


def _frame(axes: Axes, swim: BaseGeometry, aspect: float) -> None:
    """Show the swim with its bank, at one scale both ways, filling the box."""
    left, bottom, right, top = swim.bounds
    low, high = min(bottom, 0.0) - BEHIND_M, top + MARGIN_M
    wide = max(right - left + 2 * MARGIN_M, (high - low) * aspect)
    tall = wide / aspect
    middle = (left + right) / 2
    axes.set_xlim(middle - wide / 2, middle + wide / 2)
    axes.set_ylim(low, low + tall)
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_aspect("equal")


def _draw_depth(axes: Axes, turned: Turned, run: Run, at: tuple[float, float]) -> None:
    """Shade depth in steps of the reader's unit and label their edges."""
    level_m, unit_m = at
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    across, up = np.meshgrid(
        np.arange(left, right + RASTER_M, RASTER_M),
        np.arange(low, high + RASTER_M, RASTER_M),
    )
    raster = run.stack.layer("depth", level_m=level_m)
    depth = at_points(raster, run.stack.grid, *turned.world(across, up))
    if not np.isfinite(depth).any():
        return
    depth = _to_the_edge(depth, run.stack.grid.cell_m) / unit_m
    most = float(np.nanmax(depth))
    step = next((each for each in STEPS if most / each <= SHADES), STEPS[-1])
    edges = np.arange(0.0, most + step, step)
    shore = PathPatch(_outline(turned.shape(run.survey.water)), visible=False)
    axes.add_patch(shore)
    filled = axes.contourf(
        across, up, depth, edges, colors=GREYS[: len(edges)], extend="max", zorder=0
    )
    drawn = axes.contour(
        across, up, depth, edges[1:], colors=style.DARK, linewidths=0.4, zorder=1
    )
    for lines in (filled, drawn):
        lines.set_clip_path(shore)
    for label in axes.clabel(drawn, fmt="%g", fontsize=style.SMALL, inline=True):
        label.set_parse_math(False)


def _to_the_edge(depth: Floats, cell_m: float) -> Floats:
    """Carry depth from the last whole cell to the drawn edge, one cell and no more."""
    away, nearest = ndimage.distance_transform_edt(
        np.isnan(depth), sampling=RASTER_M, return_indices=True
    )
    filled: Floats = np.where(away <= cell_m, depth[tuple(nearest)], np.nan)
    return filled


def _outline(shape: BaseGeometry) -> Path:
    """Return a polygon with its holes as matplotlib draws it."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    return Path.make_compound_path(
        *(Path(shapely.get_coordinates(ring), closed=True) for ring in rings)
    )


def _draw_shape(axes: Axes, shape: BaseGeometry, **look: Any) -> None:  # noqa: ANN401 - matplotlib's own
    """Draw polygons with their holes."""
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and not part.is_empty:
            outline = _outline(part)
            axes.add_patch(PathPatch(outline, **{"ec": style.INK, "zorder": 2, **look}))


def _draw_marks(axes: Axes, turned: Turned, marks: tuple[Mark, ...]) -> None:
    """Draw creases and shelves as lines, slacks and weed hatched, snags as crosses."""
    told: set[str] = set()
    for mark in sorted(marks, key=lambda mark: mark.down_from_m - mark.down_to_m):
        for part in mark.parts:
            points = turned.plan(np.array(part))
            if len(points) == 1:
                axes.plot(*points.T, marker="X", ms=6, mfc=style.INK, mec=style.PAPER,
                          ls="none", zorder=7)  # fmt: skip
            elif mark.kind in HATCHES:
                _draw_shape(
                    axes, shapely.Polygon(points), fc="none", lw=0.6,
                    hatch=HATCHES[mark.kind], zorder=3,
                )  # fmt: skip
            else:
                look = STRUCTURE.get(mark.kind, {"lw": 1.0})
                axes.plot(*points.T, color=style.INK, zorder=4, **look)
        if mark.kind not in told:
            told.add(mark.kind)
            points = turned.plan(np.array(mark.parts[0]))
            is_line = mark.kind in STRUCTURE
            at = points[int(len(points) * 0.8)] if is_line else points.mean(axis=0)
            put_label(axes, at, mark.kind.replace("_", " "))


def _draw_hazards(axes: Axes, turned: Turned, places: gpd.GeoDataFrame | None) -> None:
    """Draw the hazards that lie in the frame, heavy, each with its word."""
    if places is None:
        return
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    window = shapely.box(left, low, right, high)
    for kind, shape in zip(places["kind"], places.geometry, strict=True):
        seen = shapely.intersection(turned.shape(shape), window)
        if kind not in HAZARDS or seen.is_empty:
            continue
        for part in shapely.get_parts(seen):
            if part.geom_type == "Polygon":
                _draw_shape(axes, part, fc="none", lw=2.0, hatch="\\\\", zorder=5)
            else:
                points = shapely.get_coordinates(part)
                axes.plot(*points.T, color=style.INK, lw=2.6, zorder=5,
                          marker="s" if len(points) == 1 else None)  # fmt: skip
        centre = shapely.get_coordinates(shapely.point_on_surface(seen))[0]
        put_label(axes, _inside(axes, centre), HAZARDS[kind], fontweight="bold")


def _inside(axes: Axes, at: Floats) -> Floats:
    """Move a place so far into the frame that a word there can be read."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    margin = np.array([(right - left) * 0.15, (high - low) * 0.06])
    moved: Floats = np.clip(
        at, np.add((left, low), margin), np.subtract((right, high), margin)
    )
    return moved


def _draw_line(axes: Axes, turned: Turned, line: RunLine, sheet: SwimSheet) -> None:
    """Draw the run line with a tick every five metres, and the feeding zone on it."""
    points = turned.plan(np.column_stack([line.easting, line.northing]))
    fished = points[line.fished]
    if sheet.zone is not None:
        inside = (line.along_m >= sheet.zone.from_m) & (line.along_m <= sheet.zone.to_m)
        axes.plot(*points[inside].T, color=style.DARK, lw=6.5, alpha=0.55,
                  solid_capstyle="butt", zorder=5)  # fmt: skip
    axes.plot(*fished.T, color=style.INK, lw=1.8, zorder=6)
    axes.annotate(
        "", fished[-1], fished[-2], zorder=6,
        arrowprops={"arrowstyle": "-|>", "color": style.INK, "lw": 1.8},
    )  # fmt: skip


def _draw_ticks(axes: Axes, turned: Turned, line: RunLine, unit_m: float) -> None:
    """Tick the run line every five metres, or every twenty feet."""
    fished = line.along_m[line.fished]
    step_m = 5.0 if unit_m == 1.0 else 20 * unit_m
    for number in range(math.ceil(fished[0] / step_m), int(fished[-1] / step_m) + 1):
        place_m = number * step_m
        world = [
            np.interp(place_m, line.along_m, c) for c in (line.easting, line.northing)
        ]
        at = turned.plan(np.array([world]))[0]
        axes.plot(*at, marker="|", ms=7, color=style.INK, zorder=6)
        put_label(axes, np.add(at, (0.0, 0.9)), f"{place_m / unit_m:.0f}")


def _draw_peg(axes: Axes, turned: Turned, peg: gpd.GeoDataFrame) -> None:
    seat = turned.plan(np.array([[peg["easting"].iloc[0], peg["northing"].iloc[0]]]))
    low = axes.get_ylim()[0] + 1.0
    axes.plot(
        [seat[0, 0]], [max(seat[0, 1], low)], marker="^", ms=9, mfc=style.PAPER,
        mec=style.INK, mew=1.6, zorder=8,
    )  # fmt: skip
