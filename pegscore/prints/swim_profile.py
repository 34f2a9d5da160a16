"""The long profile of a run line: water, bed, sinking feed and the feeding zone."""

from __future__ import annotations

import math
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from matplotlib.ticker import MaxNLocator

from pegscore.drift import Stream, sinking_path
from pegscore.prints import style
from pegscore.prints.style import axes_at, clean, fitted, put_text, width_of
from pegscore.units import METRES_PER_FOOT, is_unknown
from pegscore.wording import one_line

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from pegscore.feeding_zone import Feed
    from pegscore.run_line import RunLine
    from pegscore.swim_sheet import SwimSheet

    Floats = NDArray[np.float64]

NAMES_MM = 31.0
"""The column on the left, for the scale of depth and the names of baits."""

ROW_MM = 4.3
"""The height of a bait's row under the profile."""

FOOT_MM = 9.0
"""Room for the scale of distance."""

STROKES = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (5, 1.5, 1, 1.5)), (0, (9, 3)))
"""The lines of the baits, told apart without colour, by turns."""

NUMBER_MM = 4.5
"""How far the baits' numbers are kept apart."""

LEAST_ROWS_MM = 0.1
LONGEST_M = 45.0
"""No more of the line than this is drawn."""

PACE_EVERY_M = 4.0


class _View(NamedTuple):
    """What the profile shows: metres to the reader's unit, its ends and its points."""

    unit: str
    unit_m: float
    from_m: float
    to_m: float
    shown: NDArray[np.bool_]


def draw_profile(
    page: Figure,
    box_mm: tuple[float, float, float, float],
    sheet: SwimSheet,
    units: str,
) -> None:
    """Draw the profile into a box, with a row for each bait below it.

    Parameters
    ----------
    page : Figure
    box_mm : tuple of float
        Left, top, width, height in millimetres from the top left.
    sheet : SwimSheet
        With a line.
    units : {'metric', 'imperial'}
    """
    line = sheet.line
    if line is None:
        return
    left, top, wide, high = box_mm
    view = _view(line, sheet, units)
    rows_mm = ROW_MM * len(sheet.feeds)
    rows_top = top + high - rows_mm - FOOT_MM
    at, width = left + NAMES_MM, wide - NAMES_MM
    above = axes_at(page, (at, top, width, rows_top - top))
    below = axes_at(page, (at, rows_top, width, max(rows_mm, LEAST_ROWS_MM)))
    _draw_water(above, line, sheet, view)
    _draw_bottom(above, line, view, width)
    _draw_paths(above, line, sheet.feeds, view, width)
    for number, feed in enumerate(sheet.feeds):
        name = fitted(f"{number + 1} {clean(one_line(feed.title))}", NAMES_MM - 2)
        put_text(page, (left, rows_top + ROW_MM * (number + 0.12)), name)
        _draw_row(below, feed, number, view)
    _scale(above, below, sheet, view)
    for share, told in ((0.03, f"pace, {view.unit}/s"), (0.45, f"depth, {view.unit}")):
        put_text(page, (left, top + share * (rows_top - top)), told)


def _view(line: RunLine, sheet: SwimSheet, units: str) -> _View:
    fished = line.along_m[line.fished]
    ends = [fished[0] - 1.0, fished[-1] + 1.0]
    for feed in sheet.feeds:
        places = (feed.thrown_m - 1, feed.landing.from_m - 1, feed.landing.to_m + 1)
        ends += [place for place in places if math.isfinite(place)]
    from_m = max(min(ends), float(line.along_m[0]))
    to_m = min(max(ends), float(line.along_m[-1]), from_m + LONGEST_M)
    imperial = units == "imperial"
    return _View(
        unit="ft" if imperial else "m",
        unit_m=METRES_PER_FOOT if imperial else 1.0,
        from_m=from_m,
        to_m=to_m,
        shown=(line.along_m >= from_m - 1) & (line.along_m <= to_m + 1),
    )


def _draw_water(axes: Axes, line: RunLine, sheet: SwimSheet, view: _View) -> None:
    """Draw surface, bed, its error and the feeding zone."""
    along, depth, error = (
        column[view.shown] / view.unit_m
        for column in (line.along_m, line.depth_m, line.depth_sd_m)
    )
    deepest = float(np.nanmax(depth)) * 1.35
    axes.set_ylim(deepest, -0.2 * deepest)
    if sheet.zone is not None:
        zone = sheet.zone
        for start, end, shade in (
            (zone.from_m, zone.to_m, style.PALE),
            (zone.shared_from_m, zone.shared_to_m, style.LIGHT),
        ):
            if math.isfinite(start):
                axes.axvspan(
                    start / view.unit_m, end / view.unit_m, 0, 1 / 1.2, fc=shade, lw=0
                )
    axes.fill_between(along, depth, deepest, fc=style.MIDDLE, lw=0, zorder=2)
    axes.plot(along, depth, color=style.INK, lw=1.8, zorder=4)
    for sign in (-1, 1):
        axes.plot(
            along, depth + sign * error, color=style.INK, lw=0.5, ls=":", zorder=4
        )
    axes.axhline(0.0, color=style.INK, lw=0.9)
    _draw_setting(axes, sheet, view)
    _draw_pace(axes, line, view, -0.1 * deepest)


def _draw_setting(axes: Axes, sheet: SwimSheet, view: _View) -> None:
    """Draw a float above its depth to set, at the head of the run."""
    if sheet.depth_to_set is None or sheet.line is None:
        return
    place = float(sheet.line.along_m[sheet.line.fished][0]) / view.unit_m
    depth = sheet.depth_to_set.usual_m / view.unit_m
    axes.plot([place, place], [0, depth], color=style.INK, lw=0.7, zorder=5)
    axes.plot(
        [place], [0.0], marker="d", ms=6, mfc=style.PAPER, mec=style.INK, zorder=6
    )
    axes.plot([place], [depth], marker="o", ms=2.5, color=style.INK, zorder=6)


def _draw_pace(axes: Axes, line: RunLine, view: _View, height: float) -> None:
    """Write the pace above the water, every few metres."""
    for place in np.arange(math.ceil(view.from_m / 4) * 4, view.to_m, PACE_EVERY_M):
        pace = float(np.interp(place, line.along_m, line.speed_m_s))
        told = "?" if is_unknown(pace) else f"{pace / view.unit_m:.2f}"
        if view.from_m + 1 < place < view.to_m - 1:
            axes.text(
                place / view.unit_m, height, told, ha="center", va="center",
                fontsize=style.SMALL,
            )  # fmt: skip


def _draw_bottom(axes: Axes, line: RunLine, view: _View, width_mm: float) -> None:
    """Write the bottom's words into the ground, each over its own stretch."""
    foot = axes.get_ylim()[0] * 0.94
    mm_a_metre = width_mm / (view.to_m - view.from_m)
    points = [
        (word, float(at))
        for word, at, shown in zip(line.bottom, line.along_m, view.shown, strict=True)
        if shown and view.from_m <= at <= view.to_m
    ]
    for word, stretch in groupby(points, key=lambda point: point[0]):
        places = [at for _, at in stretch]
        told = word or "unknown"
        if width_of(told) < (places[-1] - places[0]) * mm_a_metre:
            axes.text(
                sum(places) / len(places) / view.unit_m, foot, told, ha="center",
                va="center", fontsize=style.SMALL, color=style.PAPER,
                fontweight="bold", zorder=5,
            )  # fmt: skip


def _draw_paths(
    axes: Axes, line: RunLine, feeds: tuple[Feed, ...], view: _View, width_mm: float
) -> None:
    """Draw how each bait sinks; its number stands in the ground where it lands."""
    apart = NUMBER_MM * (view.to_m - view.from_m) / width_mm / view.unit_m
    deep = axes.get_ylim()[0] * 0.8
    free_from = -math.inf
    landed = [pair for pair in enumerate(feeds) if math.isfinite(pair[1].landing.at_m)]
    for number, feed in sorted(landed, key=lambda pair: pair[1].landing.at_m):
        along, depth = _path(line, feed)
        axes.plot(
            along / view.unit_m, depth / view.unit_m, color=style.INK, lw=1.0,
            ls=STROKES[number % len(STROKES)], zorder=5,
        )  # fmt: skip
        at = (along[-1] / view.unit_m, depth[-1] / view.unit_m)
        axes.plot(*at, marker="o", ms=3, color=style.INK, zorder=6)
        place = max(at[0] - apart / 4, free_from)
        free_from = place + apart
        axes.text(
            place, max(deep, at[1]), str(number + 1), ha="center", va="center",
            fontsize=style.SMALL, zorder=7,
            bbox={"boxstyle": "circle,pad=0.12", "fc": style.PAPER, "lw": 0.6},
        )  # fmt: skip


def _path(line: RunLine, feed: Feed) -> tuple[Floats, Floats]:
    """Return metres down the line and metres deep of a bait as it sinks."""
    sunk = np.linspace(0.0, 1.0, 40)
    stream = Stream(
        along_m=line.along_m, depth_m=line.depth_m, speed_m_s=line.speed_m_s
    )
    along = sinking_path(stream, feed.thrown_m, feed.settling.usual_m_s, sunk_frac=sunk)
    return along, np.interp(along, line.along_m, line.depth_m) * sunk


def _draw_row(axes: Axes, feed: Feed, number: int, view: _View) -> None:
    """Draw a bait's row: where it is thrown, its range and where it lands."""
    middle = number + 0.5
    if feed.settling.floats or not math.isfinite(feed.landing.at_m):
        told = "floats: goes with the surface" if feed.settling.floats else "unknown"
        axes.text(
            view.from_m / view.unit_m, middle, f" {told}", va="center",
            fontsize=style.SMALL,
        )  # fmt: skip
        return
    start, at, end = (
        place / view.unit_m
        for place in (
            feed.landing.from_m, feed.landing.at_m,
            feed.landing.to_m if math.isfinite(feed.landing.to_m) else view.to_m,
        )
    )  # fmt: skip
    axes.plot([start, end], [middle, middle], color=style.MIDDLE, lw=4.0,
              solid_capstyle="butt")  # fmt: skip
    axes.plot([feed.thrown_m / view.unit_m], [middle], marker="v", ms=4,
              color=style.INK)  # fmt: skip
    axes.plot([feed.thrown_m / view.unit_m, at], [middle, middle], color=style.INK,
              lw=1.0, ls=STROKES[number % len(STROKES)])  # fmt: skip
    axes.plot([at, at], [middle - 0.32, middle + 0.32], color=style.INK, lw=1.6)


def _scale(above: Axes, below: Axes, sheet: SwimSheet, view: _View) -> None:
    """Set both axes' ends and words; the left bank sees the river flow to the left."""
    ends = [view.from_m / view.unit_m, view.to_m / view.unit_m]
    if sheet.flows_left:
        ends.reverse()
    for axes in (above, below):
        axes.set_xlim(*ends)
        axes.spines[["top", "right"]].set_visible(False)
    above.set_xticks([])
    above.spines["bottom"].set_visible(False)
    deepest = above.get_ylim()[0]
    above.set_yticks([tick for tick in above.get_yticks() if 0 <= tick <= deepest])
    below.set_ylim(max(len(sheet.feeds), 1), 0)
    below.set_yticks([])
    below.xaxis.set_major_locator(MaxNLocator(nbins=9, integer=True))
    arrow = "← " if sheet.flows_left else ""
    tail = "" if sheet.flows_left else " →"
    below.set_xlabel(
        f"{arrow}{view.unit} downstream along the run line, 0 abreast of the peg{tail}",
        labelpad=1,
    )
