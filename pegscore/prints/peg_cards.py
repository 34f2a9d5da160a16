"""Peg cards: eight on an A4 sheet, to cut out and keep in a tackle box."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING

from matplotlib.patches import Rectangle

from pegscore.exports.words import peg_words, warning_words
from pegscore.prints.style import A4_MM, drawing, new_page, write_pdf
from pegscore.screen import shortened
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd
    from matplotlib.figure import Figure

    from pegscore.exports.edition import Edition

COLUMNS, ROWS = 2, 4
LETTERS, LINES = 58, 11
"""What a card holds beside its number."""


def write_cards(edition: Edition, path: Path) -> Path:
    """Write a card for every peg: where it is, its water, its cautions.

    The position stands there twice, as the country's grid reference and in WGS 84
    degrees, so that either checks the other.
    """
    names = list(edition.pegs.index)
    size = COLUMNS * ROWS
    pages = []
    with drawing():
        for start in range(0, max(len(names), 1), size):
            figure = new_page(A4_MM)
            for place, name in enumerate(names[start : start + size]):
                _card(figure, place, str(name), edition)
            pages.append(figure)
        about = " ".join(edition.about)
        return write_pdf(pages, path, title=edition.river, subject=about)


def _card(figure: Figure, place: int, name: str, edition: Edition) -> None:
    peg = edition.peg(name)
    wide, high = 1 / COLUMNS, 1 / ROWS
    left, top = (place % COLUMNS) * wide, 1 - (place // COLUMNS) * high
    figure.add_artist(
        Rectangle(
            (left, top - high), wide, high, fill=False, linestyle=":", color="0.5"
        )
    )
    inset = left + 0.025
    _say(
        figure,
        inset,
        top - 0.018,
        shortened(f"Peg {one_line(name)}", 26),
        17,
        bold=True,
    )
    _say(figure, inset, top - 0.044, shortened(edition.river, 60), 7)
    where = f"{peg['grid_reference']}   {degrees_words(peg)}"
    _say(figure, inset, top - 0.058, where, 7.5, bold=True)
    text = fill(f"{peg_words(peg)}.", LETTERS)
    _say(figure, inset, top - 0.076, text, 8.5)
    under = 0.083 + 0.0125 * (text.count("\n") + 1)
    warning = shortened_lines(warning_words(peg, edition))
    _say(figure, inset, top - under, warning, 7.5)


def degrees_words(peg: pd.Series) -> str:
    """Write a position in degrees with its hemispheres.

    Examples
    --------
    >>> degrees_words({"latitude": 52.6575977, "longitude": -1.7179215})
    '52.65760° N 1.71792° W'
    """
    north, east = float(peg["latitude"]), float(peg["longitude"])
    return (
        f"{abs(north):.5f}° {'N' if north >= 0 else 'S'} "
        f"{abs(east):.5f}° {'E' if east >= 0 else 'W'}"
    )


def shortened_lines(text: str) -> str:
    """Break a text into a card's lines and say where it had to be cut.

    Examples
    --------
    >>> shortened_lines("mind the edge")
    'mind the edge'
    """
    lines = fill(text, LETTERS + 8).split("\n")
    if len(lines) > LINES:
        lines = [*lines[: LINES - 1], "and more: read the map before you fish"]
    return "\n".join(lines)


def _say(
    figure: Figure, x: float, y: float, text: str, size: float, *, bold: bool = False
) -> None:
    """Write a file's text as it is: a dollar sign starts no formula."""
    figure.text(
        x,
        y,
        text,
        fontsize=size,
        va="top",
        fontweight="bold" if bold else "normal",
        parse_math=False,
    )
