"""The swim sheet on one side of A5: to be read at the water, and photocopied."""

from __future__ import annotations

import hashlib
import math
import re
from typing import TYPE_CHECKING

from matplotlib.patches import Rectangle

from pegscore.flag_words import care_words
from pegscore.prints import style
from pegscore.prints.style import (
    A5_MM,
    axes_at,
    drawing,
    fitted,
    line_mm,
    new_page,
    put_lines,
    put_text,
    wrapped,
    write_pdf,
)
from pegscore.prints.swim_plan import draw_plan
from pegscore.prints.swim_profile import FOOT_MM, ROW_MM, draw_profile
from pegscore.swim_phrases import down
from pegscore.swim_words import (
    mark_text,
    score_lines,
    warnings,
    zone_lines,
)
from pegscore.units import length
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.figure import Figure

    from pegscore.swim_sheet import SwimSheet
    from pegscore.workflow import Run

SIDE_MM = 7.0
"""The margin all round."""

WIDE_MM = A5_MM[0] - 2 * SIDE_MM
GAP_MM = 2.0
PLAN_MM = 82.0
"""The plan's width; what lies in the swim is told beside it."""

PROFILE_MM, LEAST_PLAN_MM = 30.0, 38.0
"""The profile's height without its rows, and the least the plan can be read at."""

LINE_MM = line_mm(style.SMALL)

NO_HAZARD = (
    "The survey's places hold no hazard near this peg; that is no proof of safety."
)
KEY = (
    "Dotted: one standard error of depth. Diamond: float at its depth. Grey bars: "
    "where a bait may land (80 %), from its throw (wedge). Shaded: feeding zone; "
    "darker: where all may land. Setting, float, net: common practice or our own, "
    "no source."
)


def page_name(peg: str) -> str:
    """Return a safe file name for a peg's sheet, another for each peg.

    Examples
    --------
    >>> page_name("12a"), page_name("../the mill")
    ('swim-12a.pdf', 'swim-the_mill-b10b08.pdf')
    """
    plain = re.sub(r"[^A-Za-z0-9-]+", "_", peg).strip("_")[:40]
    if plain and plain == peg.lower():  # disks that take A1 for a1 keep both
        return f"swim-{plain}.pdf"
    digest = hashlib.sha256(peg.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return f"swim-{'-'.join(filter(None, (plain, digest)))}.pdf"


def write_swim_page(
    sheet: SwimSheet, run: Run, path: Path | None = None, *, units: str = "metric"
) -> Path:
    """Write a peg's swim sheet as a PDF of one A5 page.

    Parameters
    ----------
    sheet : SwimSheet
    run : Run
        What it was made from.
    path : Path, optional
        Default: ``swim-PEG.pdf`` among the run's results.
    units : {'metric', 'imperial'}

    Raises
    ------
    OSError
        If there is no way to write there.
    """
    path = path or run.out / page_name(sheet.peg)
    title = f"Peg {one_line(sheet.peg)}, {one_line(sheet.river)}"
    with drawing():
        return write_pdf(_pages(sheet, run, units), path, title=title)


def _pages(sheet: SwimSheet, run: Run, units: str) -> list[Figure]:
    """Lay the sheet out; only cautions without room go overleaf, and say so."""
    page = new_page()
    top = _head(page, sheet, units)
    foot = wrapped(" ".join(sheet.general_cautions), WIDE_MM)
    below = A5_MM[1] - SIDE_MM - len(foot) * LINE_MM
    put_lines(page, (SIDE_MM, below), foot)
    rows_mm = PROFILE_MM + ROW_MM * len(sheet.feeds) + FOOT_MM if sheet.line else 0.0
    under = _under_profile(sheet, units)
    fixed_mm = rows_mm + len(under) * LINE_MM + (LEAST_PLAN_MM if sheet.line else 0.0)
    lines = _caution_lines(sheet)
    kept = max(2, int((below - top - fixed_mm - 6 * GAP_MM) / LINE_MM))
    if len(lines) > kept:
        kept -= 1
    top = _cautions(page, top, sheet, lines[:kept], is_cut=len(lines) > kept)
    if sheet.line is not None:
        draw_profile(page, (SIDE_MM, top, WIDE_MM, rows_mm), sheet, units)
        top = put_lines(page, (SIDE_MM, top + rows_mm + 1.0), under) + GAP_MM
        high = below - top - GAP_MM
        draw_plan(page, (SIDE_MM, top, PLAN_MM, high), sheet, run, units)
        _beside(page, (SIDE_MM + PLAN_MM + 3.0, top, high), sheet, units)
    return [page, *_overleaf(sheet, lines[kept:])]


def _overleaf(sheet: SwimSheet, lines: list[str]) -> list[Figure]:
    """Return a second page with the cautions that found no room on the first."""
    if not lines:
        return []
    page = new_page()
    title = fitted(f"Peg {one_line(sheet.peg)}: cautions, continued", WIDE_MM)
    put_lines(page, (SIDE_MM, SIDE_MM), [title, *lines])
    return [page]


def _head(page: Figure, sheet: SwimSheet, units: str) -> float:
    """Put the peg, the river and the day; return where they end, mm."""
    peg = fitted(
        f"Peg {one_line(sheet.peg)}", WIDE_MM * 0.55, size=style.TITLE, bold=True
    )
    put_text(page, (SIDE_MM, SIDE_MM), peg, size=style.TITLE, fontweight="bold")
    corner = [f"Survey: {one_line(sheet.survey_date)}", "A guide, not a promise"]
    put_lines(page, (A5_MM[0] - SIDE_MM, SIDE_MM), corner, ha="right")
    told = [f"{sheet.bank} bank", f"board at {length(sheet.level_m, units)}"]
    if not math.isnan(sheet.distance_out_m):
        out = length(sheet.distance_out_m, units, decimals=1)
        told.append(f"run line {out} out, as you see it from the peg")
    top = SIDE_MM + line_mm(style.TITLE)
    river = fitted(one_line(sheet.river), WIDE_MM, size=style.LARGE)
    top = put_lines(page, (SIDE_MM, top), [river], size=style.LARGE)
    top = put_lines(page, (SIDE_MM, top), [fitted(", ".join(told), WIDE_MM)])
    scored = [fitted(line, WIDE_MM) for line in score_lines(sheet.score, units)[:1]]
    top = put_lines(page, (SIDE_MM, top), scored, fontweight="bold")
    care = "" if sheet.score is None else care_words(sheet.score.row)
    return put_lines(page, (SIDE_MM, top), [*wrapped(care, WIDE_MM)]) + GAP_MM / 2


def _caution_lines(sheet: SwimSheet) -> list[str]:
    """Return what must be read first, wrapped to the box."""
    told = warnings(sheet)
    if not sheet.cautions and sheet.is_open:
        told.append(f"- {NO_HAZARD}")
    return [
        line
        for text in told
        for line in wrapped(text.removeprefix("- "), WIDE_MM - 5.0, bold=True)
    ]


def _cautions(
    page: Figure, top: float, sheet: SwimSheet, lines: list[str], *, is_cut: bool
) -> float:
    """Put the cautions in a box, white on black where nobody may fish."""
    if is_cut:
        lines = [*lines, "More cautions overleaf: read them."]
    high = len(lines) * LINE_MM + 2.4
    box = axes_at(page, (SIDE_MM, top, WIDE_MM, high))
    box.set_axis_off()
    fill = style.PAPER if sheet.is_open else style.INK
    frame = Rectangle(
        (0, 0), 1, 1, transform=box.transAxes, fc=fill, ec=style.INK, lw=1.4
    )
    box.add_patch(frame)
    ink = style.INK if sheet.is_open else style.PAPER
    put_lines(
        page, (SIDE_MM + 2.5, top + 1.0), lines, color=ink, fontweight="bold", zorder=10
    )
    return top + high + GAP_MM


def _under_profile(sheet: SwimSheet, units: str) -> list[str]:
    """Return the feeding zone in words, and the key to the drawing."""
    if not sheet.feeds:
        return []
    told = " ".join(zone_lines(sheet, units))
    return [*wrapped(told, WIDE_MM), *wrapped(KEY, WIDE_MM)]


def _beside(
    page: Figure, corner: tuple[float, float, float], sheet: SwimSheet, units: str
) -> None:
    """Put depth to set, float, net and what lies in the swim beside the plan."""
    left, top, high = corner
    wide = A5_MM[0] - SIDE_MM - left
    told = [*_tackle(sheet, units), *_netting(sheet, units)]
    told += [mark_text(mark, units) for mark in (*sheet.things, *sheet.structure)]
    room = int(high / LINE_MM)
    lines: list[str] = []
    for number, text in enumerate(told):
        more = wrapped(text, wide)
        if len(lines) + len(more) + (number + 1 < len(told)) > room:
            lines.append(f"and {len(told) - number} more: see the plan")
            break
        lines += more
    put_lines(page, (left, top), lines[:room])


def _tackle(sheet: SwimSheet, units: str) -> list[str]:
    """Return the float's figures, as short as they can be told."""
    told: list[str] = []
    if not sheet.is_open:
        return told
    depths, weight = sheet.depth_to_set, sheet.weight
    if depths is not None:
        told.append(
            f"SET {length(depths.usual_m, units)} to start; "
            f"{length(depths.clear_m, units)} runs clear; deepest "
            f"{length(depths.deepest_m, units)}, {down(depths.deepest_at_m, units)}."
        )
    if weight is not None and weight.grams > 0:
        shot = f" ({one_line(weight.shot)})" if weight.shot else ""
        told.append(f"FLOAT about {weight.grams:.1f} g{shot}.")
    elif weight is not None and not math.isnan(weight.grams):
        told.append(f"FLOAT {one_line(weight.words)}.")
    if not math.isnan(sheet.pass_s):
        told.append(f"It passes the swim in {sheet.pass_s:.0f} s.")
    return told


def _netting(sheet: SwimSheet, units: str) -> list[str]:
    """Return where to net a fish, as short as it can be told."""
    if not sheet.is_open:
        return []
    if sheet.netting is None:
        return ["NET no gentle, clear margin known: long net, stay back."]
    depth = length(sheet.netting.depth_m, units)
    return [f"NET {down(sheet.netting.down_m, units)}, {depth} deep there. Look first."]
