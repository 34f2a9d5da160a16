"""The river on paper: strips turned along the water, with scale, north and legend.

One sheet shows one piece of the river, its axis from left to right; a long reach on
a single sheet cannot be read. Depth is drawn in grey steps, so that any printer will
do; every peg has its number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.transforms import Affine2D

from layers.raster import replacing
from pegscore.exports.positions import grid_reference
from pegscore.pages.palette import equal_steps
from pegscore.units import METRES_PER_FOOT
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes
    from matplotlib.transforms import Transform

    from pegscore.exports.edition import Edition

Paper = Literal["a4", "a3"]
SIZES_MM: dict[str, tuple[float, float]] = {"a4": (297.0, 210.0), "a3": (420.0, 297.0)}
"""ISO 216, lying."""

MM_PER_INCH = 25.4
SIDE_MM, MAP_HIGH_SHARE = 12.0, 0.55
SCALES = (500, 1000, 1250, 2000, 2500, 5000, 10000)
"""Scales that a ruler reads; the first at which the river fits is taken."""
MOST_SHEETS = 12
BARS_M, SHORTEST_BAR_MM = (10, 20, 50, 100, 200, 500), 20.0
OVERLAP = 0.08
ROW_LETTERS = 84
FLOW_SHARE = 0.05
GREYS = ("0.93", "0.80", "0.66", "0.52", "0.38", "0.22")
"""Depth from shallow to deep: equal steps of grey, read on any printer."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One piece of the river: its middle, the way it runs and the metres it shows."""

    middle: tuple[float, float]
    turned_rad: float
    wide_m: float
    high_m: float


def write_river_map(edition: Edition, path: Path, *, paper: Paper = "a4") -> Path:
    """Write the river as a PDF, one strip a page.

    Parameters
    ----------
    edition : Edition
    path : Path
        Replaced only when the new file is complete.
    paper : {'a4', 'a3'}, default='a4'
    """
    scale, sheets = cut_sheets(edition, paper)
    about = {"Title": edition.river, "Subject": " ".join(edition.about)}
    with replacing(path) as temporary, PdfPages(temporary, metadata=about) as book:
        for number, sheet in enumerate(sheets, start=1):
            figure = _page(edition, sheet, paper, scale)
            place = f"sheet {number} of {len(sheets)}"
            _foot(figure, edition, f"1:{scale:,}, {place}", sheet)
            book.savefig(figure)
    return path


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


def _page(edition: Edition, sheet: Sheet, paper: Paper, scale: int) -> Figure:
    wide_mm, high_mm = SIZES_MM[paper]
    figure = Figure(figsize=(wide_mm / MM_PER_INCH, high_mm / MM_PER_INCH))
    across = SIDE_MM / wide_mm
    axes = figure.add_axes(
        (across, 1 - MAP_HIGH_SHARE - 0.09, 1 - 2 * across, MAP_HIGH_SHARE)
    )
    axes.set_xlim(-sheet.wide_m / 2, sheet.wide_m / 2)
    axes.set_ylim(-sheet.high_m / 2, sheet.high_m / 2)
    axes.set_xticks([])
    axes.set_yticks([])
    turn = Affine2D().translate(-sheet.middle[0], -sheet.middle[1])
    turn = turn.rotate(-sheet.turned_rad)
    edges = _draw_water(axes, edition, turn)
    _draw_places(axes, edition, turn)
    shown = _draw_pegs(axes, edition, turn, sheet)
    _draw_north(axes, sheet)
    _draw_flow(axes, edition, turn, sheet)
    _draw_scale_bar(axes, sheet, scale)
    _legend(figure, edges)
    _table(figure, edition, shown)
    return figure


def _draw_water(axes: Axes, edition: Edition, turn: Affine2D) -> list[float]:
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


def _draw_places(axes: Axes, edition: Edition, turn: Affine2D) -> None:
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


def _draw_pegs(axes: Axes, edition: Edition, turn: Affine2D, sheet: Sheet) -> list[str]:
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


def _draw_north(axes: Axes, sheet: Sheet) -> None:
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


def _draw_flow(axes: Axes, edition: Edition, turn: Affine2D, sheet: Sheet) -> None:
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


def _draw_scale_bar(axes: Axes, sheet: Sheet, scale: int) -> None:
    """Draw a bar of a round length, 2 to 5 cm on paper."""
    long_m = next(m for m in BARS_M if m * 1000 / scale >= SHORTEST_BAR_MM)
    words = f"{long_m} m ({long_m / METRES_PER_FOOT:.0f} ft)"
    x, y = -sheet.wide_m / 2 * 0.98, -sheet.high_m / 2 * 0.94
    axes.plot(
        [x, x + long_m], [y, y], color="black", linewidth=3, solid_capstyle="butt"
    )
    axes.text(x + long_m * 1.05, y, words, fontsize=7)


def _legend(figure: Figure, edges: list[float]) -> None:
    tops = [*(f"to {edge:g}" for edge in edges[1:]), "and more"]
    steps = [
        Patch(facecolor=grey, edgecolor="black", label=f"{edge:g} {top} m")
        for grey, edge, top in zip(GREYS, edges, tops, strict=True)
    ]
    signs = [
        _sign("o", "peg"),
        _sign("x", "do not fish"),
        Line2D([], [], color="black", linestyle="--", label="place or path"),
    ]
    figure.legend(
        handles=[*steps, *signs],
        title="Depth and signs",
        loc="upper right",
        bbox_to_anchor=(0.985, 0.35),
        fontsize=7,
        title_fontsize=7,
        frameon=False,
    )


def _sign(marker: str, label: str) -> Line2D:
    return Line2D(
        [],
        [],
        marker=marker,
        label=label,
        color="black",
        ls="",
        markerfacecolor="white",
    )


def _table(figure: Figure, edition: Edition, shown: list[str]) -> None:
    """Write the sheet's pegs below the map, as many as the paper holds."""
    rows = [_row(edition, name) for name in shown]
    columns, lines = 2, 11
    for column in range(columns):
        part = rows[column * lines : (column + 1) * lines]
        figure.text(
            0.045 + column * 0.4,
            0.345,
            "\n".join(part),
            fontsize=6.5,
            va="top",
            parse_math=False,
        )
    if len(rows) > columns * lines:
        left = len(rows) - columns * lines
        figure.text(0.045, 0.115, f"and {left} more: see the peg cards", fontsize=6.5)


def _row(edition: Edition, name: str) -> str:
    peg = edition.peg(name)
    deep = "depth unknown" if np.isnan(peg["depth_m"]) else f"{peg['depth_m']:.2f} m"
    said = f"DO NOT FISH, {peg['closed']}" if peg["closed"] else _short(peg["best"])
    words = f"{one_line(name)}   {peg['grid_reference']}   {deep}   {said}"
    return words if len(words) <= ROW_LETTERS else f"{words[: ROW_LETTERS - 1]}…"


def _short(best: str) -> str:
    """Leave the intervals to the cards.

    Examples
    --------
    >>> _short("Dace 0.65 (0.37 to 0.80), Chub 0.40 (0.2 to 0.5)")
    'Dace 0.65, Chub 0.40'
    """
    return re.sub(r" \([^)]*\)", "", best)


def _foot(figure: Figure, edition: Edition, scale_words: str, sheet: Sheet) -> None:
    made = datetime.now(tz=UTC).date().isoformat()
    figure.text(
        0.04, 0.955, edition.river, fontsize=13, fontweight="bold", parse_math=False
    )
    middle = grid_reference(*sheet.middle, edition.crs)
    words = f"{scale_words}; middle {middle}; flow from left to right; drawn {made}"
    figure.text(0.04, 0.925, words, fontsize=7, parse_math=False)
    cautions = _wrapped(" ".join(edition.about), 230)
    figure.text(0.04, 0.02, cautions, fontsize=6, va="bottom", parse_math=False)


def _wrapped(text: str, letters: int) -> str:
    from textwrap import fill  # noqa: PLC0415 - used once

    return fill(text, letters)


def _rings(shape: shapely.geometry.base.BaseGeometry) -> list[np.ndarray]:
    """Return the lines of any shape, each (points, 2)."""
    edge = shape.boundary if shape.geom_type.endswith("Polygon") else shape
    parts = getattr(edge, "geoms", [edge])
    return [shapely.get_coordinates(part) for part in parts if not part.is_empty]


def _onto(axes: Axes, turn: Affine2D) -> Transform:
    return turn + axes.transData
