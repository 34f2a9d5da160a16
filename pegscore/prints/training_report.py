"""What returns hold and what was learnt from them: a page each, for the committee."""

from __future__ import annotations

from dataclasses import dataclass, field
from textwrap import fill
from typing import TYPE_CHECKING

from pegscore.prints.returns_charts import draw_catches, draw_months, draw_pegs
from pegscore.prints.style import A4_MM, drawing, new_page, write_pdf
from pegscore.prints.training_charts import (
    draw_calibration,
    draw_dependence,
    draw_rules,
)
from pegscore.wording import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd
    from matplotlib.figure import Figure

    from pegscore.effort import Effort
    from pegscore.training import Outcome

LETTERS = 124

CONFIDENTIAL = (
    "For the committee. Pegs with fewer than 5 visits or 3 anglers, or fished mostly "
    "by one, are left out of every figure. Catch per hour says who fished as much as "
    "what swims there: popularity never enters a score."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesPage:
    """One species' page.

    Parameters
    ----------
    title : str
    outcome : Outcome
        As ``pegscore.training`` returns it.
    catches : DataFrame, index peg
        As ``pegscore.effort.told_apart`` returns it.
    curves : dict of str to DataFrame
        By feature, as ``pegscore.dependence.dependence`` returns it; empty where the
        preferences stay.
    weighed : str
        What the typical fish weighs, in words; empty where too few weights tell.
    """

    title: str
    outcome: Outcome
    catches: pd.DataFrame
    curves: dict[str, pd.DataFrame] = field(default_factory=dict)
    weighed: str = ""


def write_training_report(
    path: Path, river: str, held: Effort, pages: Sequence[SpeciesPage]
) -> Path:
    """Write the report as a PDF: the returns, then a page a species.

    Parameters
    ----------
    path : Path
        Replaced only when the new file is complete.
    river : str
    held : Effort
    pages : sequence of SpeciesPage
    """
    with drawing():
        drawn = [_returns_page(one_line(river), held)]
        drawn += [_species_page(page) for page in pages]
        title = f"{river}: what the returns say"
        return write_pdf(drawn, path, title=title, subject=CONFIDENTIAL)


def _returns_page(river: str, held: Effort) -> Figure:
    figure = new_page(A4_MM)
    _say(figure, 0.955, f"{river}: the returns", 14, bold=True)
    told = "; ".join(f"{word} {100 * part:.0f} %" for word, part in held.told.items())
    span = f" from {held.span[0]} to {held.span[1]}" if held.visits else ""
    words = [
        f"{held.visits} visits{span}, {held.blanks} of them blank.",
        f"Of the visits, so many tell: {told}.",
        *(f"{note[:1].upper()}{note[1:]}." for note in held.notes),
        CONFIDENTIAL,
    ]
    _say(figure, 0.93, "\n".join(fill(line, LETTERS) for line in words), 8)
    draw_pegs(figure.add_axes((0.09, 0.42, 0.86, 0.36)), held.by_peg)
    draw_months(figure.add_axes((0.09, 0.09, 0.86, 0.22)), held.by_month)
    return figure


def _species_page(page: SpeciesPage) -> Figure:
    figure = new_page(A4_MM)
    outcome = page.outcome
    kept = "trained ranking kept" if outcome.trained else "the preferences stay"
    _say(figure, 0.965, f"{page.title}: {kept}", 14, bold=True)
    joint = [test.sentence() for test in outcome.tests[2:]]
    told = ". ".join([*outcome.reasons, *joint])
    words = (
        f"{outcome.visits} visits to pegs of known water, {outcome.positive} with "
        f"fish. {told[:1].upper()}{told[1:]}.{page.weighed}"
    )
    _say(figure, 0.94, fill(words, LETTERS), 8)
    draw_catches(figure.add_axes((0.09, 0.67, 0.86, 0.175)), page.catches)
    left, wide = 0.09, 0.37
    for place, (feature, curve) in enumerate(list(page.curves.items())[:2]):
        axes = figure.add_axes((left + place * 0.49, 0.415, wide, 0.17))
        draw_dependence(axes, feature, curve)
    for place, test in enumerate(outcome.tests[:2]):
        axes = figure.add_axes((left + 0.10, 0.235 - place * 0.185, 0.32, 0.125))
        draw_rules(axes, test)
    if outcome.tests:
        draw_calibration(figure.add_axes((0.60, 0.06, 0.35, 0.28)), outcome.tests[1])
    return figure


def _say(
    figure: Figure, y: float, text: str, size: float, *, bold: bool = False
) -> None:
    """Write a file's text as it is: a dollar sign starts no formula."""
    figure.text(
        0.06,
        y,
        text,
        fontsize=size,
        va="top",
        fontweight="bold" if bold else "normal",
        parse_math=False,
    )
