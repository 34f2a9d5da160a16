"""What is drawn of the river on a sheet: water, places, pegs, north, scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from matplotlib.colors import BoundaryNorm, ListedColormap

from pegscore.pages.palette import equal_steps
from pegscore.units import METRES_PER_FOOT
from pegscore.wording import one_line

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.transforms import Affine2D, Transform

    from pegscore.exports.edition import Edition
    from pegscore.prints.strips import Sheet

GREYS = ("0.93", "0.80", "0.66", "0.52", "0.38", "0.22")
"""Depth from shallow to deep: equal steps of grey, read on any printer."""

BARS_M, SHORTEST_BAR_MM = (10, 20, 50, 100, 200, 500), 20.0
FLOW_SHARE = 0.05
"""The arrow's half length, as a share of the sheet's width."""


def draw_water(axes: Axes, edition: Edition, turn: Affine2D) -> list[float]:
    """Draw depth in grey steps and the water's edge; return the steps."""
    grid = edition.stack.grid
    depth = edition.stack.layer("depth", level_m=edition.level_m)
    known = depth[np.isfinite(depth)]
    deep = float(np.percentile(known, 98)) if known.size else 1.0
    edges = equal_steps(deep, classes=len(GREYS))
    east, south = (
        grid.west + grid.columns * grid.cell_m,
        grid.north - grid.rows * grid.cell_m,
    )
    axes.imshow(
        depth,
        extent=(grid.west, east, south, grid.north),
        cmap=ListedColormap(GREYS),
        norm=BoundaryNorm([*edges, 1e3], len(GREYS)),
        interpolation="nearest",
        transform=_onto(axes, turn),
        clip_on=True,
    )
    for ring in _rings(edition.water):
        axes.plot(*ring.T, color="black", linewidth=0.8, transform=_onto(axes, turn))
    axes.set_aspect("equal", adjustable="box")
    return edges


def draw_places(axes: Axes, edition: Edition, turn: Affine2D) -> None:
    """Draw what is beside the water as dashed shapes with their words."""
    for words, shape in edition.told_places():
        for line in _rings(shape):
            axes.plot(
                *line.T,
                "k--",
                linewidth=0.9,
                transform=_onto(axes, turn),
                marker="+" if len(line) == 1 else "",
            )
        at = shapely.get_coordinates(shape.representative_point())[0]
        _write(axes, turn, at, words, 5.5)


def draw_pegs(axes: Axes, edition: Edition, turn: Affine2D, sheet: Sheet) -> list[str]:
    """Draw the pegs with their numbers; return those that lie on the sheet."""
    shown = []
    for name, peg in edition.rows():
        at = np.array([peg.geometry.x, peg.geometry.y])
        x, y = turn.transform(at)
        if abs(x) > sheet.wide_m / 2 or abs(y) > sheet.high_m / 2:
            continue
        shown.append(name)
        look = "x" if peg["closed"] else "o"
        axes.plot(x, y, look, color="black", markersize=4, markerfacecolor="white")
        _write(axes, turn, at, one_line(name), 8, bold=True)
    return shown


def _write(
    axes: Axes,
    turn: Affine2D,
    at: np.ndarray,
    text: str,
    size: float,
    *,
    bold: bool = False,
) -> None:
    """Write a file's text as it is: a dollar sign starts no formula."""
    axes.annotate(
        text.strip(),
        tuple(turn.transform(at)),
        xytext=(3, 3),
        textcoords="offset points",
        fontsize=size,
        fontweight="bold" if bold else "normal",
        parse_math=False,
        annotation_clip=True,
        bbox={"facecolor": "white", "alpha": 0.7, "pad": 0.6, "linewidth": 0},
    )


def draw_north(axes: Axes, sheet: Sheet) -> None:
    """Draw an arrow that points to grid north."""
    east, north = -np.sin(-sheet.turned_rad), np.cos(-sheet.turned_rad)
    axes.annotate(
        "N",
        xy=(0.965 + 0.028 * east, 0.86 + 0.07 * north),
        xytext=(0.965 - 0.028 * east, 0.86 - 0.07 * north),
        xycoords="axes fraction",
        textcoords="axes fraction",
        arrowprops={"arrowstyle": "-|>", "color": "black"},
        ha="center",
        va="center",
        fontsize=9,
    )


def draw_flow(axes: Axes, edition: Edition, turn: Affine2D, sheet: Sheet) -> None:
    """Draw an arrow down the middle of the water."""
    line = turn.transform(shapely.get_coordinates(edition.centreline.segmentize(5.0)))
    here = line[np.abs(line[:, 0]) < FLOW_SHARE * sheet.wide_m]
    if len(here) > 1:
        axes.annotate(
            "",
            xy=tuple(here[-1]),
            xytext=tuple(here[0]),
            arrowprops={"arrowstyle": "-|>", "color": "white", "linewidth": 1.6},
        )


def draw_scale_bar(axes: Axes, sheet: Sheet, scale: int) -> None:
    """Draw a bar of a round length, 2 to 5 cm on paper."""
    long_m = next(m for m in BARS_M if m * 1000 / scale >= SHORTEST_BAR_MM)
    words = f"{long_m} m ({long_m / METRES_PER_FOOT:.0f} ft)"
    x, y = -sheet.wide_m / 2 * 0.98, -sheet.high_m / 2 * 0.94
    axes.plot(
        [x, x + long_m], [y, y], color="black", linewidth=3, solid_capstyle="butt"
    )
    axes.text(x + long_m * 1.05, y, words, fontsize=7)


def _rings(shape: shapely.geometry.base.BaseGeometry) -> list[np.ndarray]:
    """Return the lines of any shape, each (points, 2)."""
    edge = shape.boundary if shape.geom_type.endswith("Polygon") else shape
    parts = getattr(edge, "geoms", [edge])
    return [shapely.get_coordinates(part) for part in parts if not part.is_empty]


def _onto(axes: Axes, turn: Affine2D) -> Transform:
    return turn + axes.transData
