"""The river on paper: strips turned along the water, with scale, north and legend.

One sheet shows one piece of the river, its axis from left to right; a long reach on
a single sheet cannot be read. Depth is drawn in grey steps, so that any printer will
do; every peg has its number.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.transforms import Affine2D

from pegscore.exports.positions import grid_reference
from pegscore.prints import river_marks
from pegscore.prints.strips import MAP_HIGH_SHARE, SIDE_MM, SIZES_MM, cut_sheets
from pegscore.prints.style import drawing, write_pdf
from pegscore.screen import shortened
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from pegscore.exports.edition import Edition
    from pegscore.prints.strips import Paper, Sheet

MM_PER_INCH = 25.4
ROW_LETTERS, FOOT_LETTERS = 84, 230


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
    pages = []
    with drawing():
        for number, sheet in enumerate(sheets, start=1):
            figure = _page(edition, sheet, paper, scale)
            place = f"sheet {number} of {len(sheets)}"
            _foot(figure, edition, f"1:{scale:,}, {place}", sheet)
            pages.append(figure)
        about = " ".join(edition.about)
        return write_pdf(pages, path, title=edition.river, subject=about)


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
    edges = river_marks.draw_water(axes, edition, turn)
    river_marks.draw_places(axes, edition, turn)
    shown = river_marks.draw_pegs(axes, edition, turn, sheet)
    river_marks.draw_north(axes, sheet)
    river_marks.draw_flow(axes, edition, turn, sheet)
    river_marks.draw_scale_bar(axes, sheet, scale)
    _legend(figure, edges)
    _table(figure, edition, shown)
    return figure


def _legend(figure: Figure, edges: list[float]) -> None:
    tops = [*(f"to {edge:g}" for edge in edges[1:]), "and more"]
    steps = [
        Patch(facecolor=grey, edgecolor="black", label=f"{edge:g} {top} m")
        for grey, edge, top in zip(river_marks.GREYS, edges, tops, strict=True)
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
    return shortened(words, ROW_LETTERS)


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
    cautions = fill(" ".join(edition.about), FOOT_LETTERS)
    figure.text(0.04, 0.02, cautions, fontsize=6, va="bottom", parse_math=False)
