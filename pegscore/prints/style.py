"""One hand for everything on paper: greys, line weights, text that fits and is safe.

Pages are drawn on a ``Figure`` of their own, without pyplot and its global state, in
greys and line styles alone, so that a photocopy loses nothing. Text from files is
data: no control or bidirectional characters, no mathematics between dollar signs, no
letter the font does not hold.
"""

from __future__ import annotations

import textwrap
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib import font_manager
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.figure import Figure
from matplotlib.rcsetup import cycler

from layers.raster import replacing
from pegscore.wording import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from matplotlib.axes import Axes

A5_MM, A4_MM = (148.0, 210.0), (210.0, 297.0)
"""Width and height of ISO 216 sheets, portrait."""

MM_PER_INCH, POINTS_PER_INCH = 25.4, 72.0

SMALL, NORMAL, LARGE, TITLE = 8.0, 9.0, 11.0, 18.0
"""Sizes of type in points; nothing is smaller than ``SMALL``."""

LEADING = 1.28
"""Line height over type size."""

INK, DARK, MIDDLE, LIGHT, PALE, PAPER = "0.0", "0.3", "0.55", "0.75", "0.9", "1.0"
"""The greys, black to white."""

FONT = "DejaVu Sans"
"""It comes with matplotlib, so that a page looks alike everywhere."""

RULES: dict[Any, Any] = {
    "font.family": FONT,
    "font.size": SMALL,
    "text.parse_math": False,
    "text.usetex": False,
    "axes.unicode_minus": True,
    "axes.linewidth": 0.6,
    "axes.edgecolor": INK,
    "axes.labelsize": SMALL,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "xtick.direction": "out",
    "ytick.direction": "out",
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "axes.prop_cycle": cycler(color=[INK]),
    "hatch.linewidth": 0.5,
    "pdf.fonttype": 42,
    "pdf.compression": 9,
    "savefig.facecolor": PAPER,
}
"""matplotlib's settings while a page is made and written."""

FIXED_POINT = 65536.0
"""A font's advance is told in 16.16 fixed point."""

MISSING = "\ufffd"
"""Stands for a letter that the font does not hold."""


@contextmanager
def drawing() -> Iterator[None]:
    """Make and write pages inside this, under the house's own settings."""
    with mpl.rc_context(RULES):
        yield


def new_page(size_mm: tuple[float, float] = A5_MM) -> Figure:
    """Return an empty page, width and height in millimetres."""
    width, height = (side / MM_PER_INCH for side in size_mm)
    page = Figure(figsize=(width, height))
    FigureCanvasPdf(page)
    return page


def axes_at(page: Figure, box_mm: tuple[float, float, float, float]) -> Axes:
    """Return axes at ``(left, top, width, height)`` millimetres from the top left."""
    width_mm, height_mm = (side * MM_PER_INCH for side in page.get_size_inches())
    left, top, wide, high = box_mm
    return page.add_axes(
        (
            left / width_mm,
            1.0 - (top + high) / height_mm,
            wide / width_mm,
            high / height_mm,
        )
    )


def write_pdf(
    pages: Iterable[Figure], path: Path, *, title: str, subject: str = ""
) -> Path:
    """Write pages as one PDF, complete or not at all; no clock, so it repeats itself.

    Raises
    ------
    OSError
        If there is no way to write there.
    """
    from matplotlib.backends.backend_pdf import PdfPages  # noqa: PLC0415 - slow, late

    told = {
        "Title": clean(title),
        "Subject": clean(subject),
        "Creator": "pegscore",
        "CreationDate": None,
    }
    with replacing(path) as temporary, PdfPages(temporary, metadata=told) as book:
        for page in pages:
            book.savefig(page)
    return path


def put_text(
    page: Figure,
    at_mm: tuple[float, float],
    text: str,
    *,
    size: float = SMALL,
    **style: Any,  # noqa: ANN401 - matplotlib's own
) -> None:
    """Put one line of text, its top left corner at mm from the page's top left."""
    width_mm, height_mm = (side * MM_PER_INCH for side in page.get_size_inches())
    page.text(
        at_mm[0] / width_mm,
        1.0 - at_mm[1] / height_mm,
        clean(text),
        fontsize=size,
        parse_math=False,
        **{"va": "top", "ha": "left", **style},
    )


def put_lines(
    page: Figure,
    at_mm: tuple[float, float],
    lines: list[str],
    *,
    size: float = SMALL,
    **style: Any,  # noqa: ANN401 - matplotlib's own
) -> float:
    """Put lines below each other; return where the next would stand, mm."""
    left, top = at_mm
    for line in lines:
        put_text(page, (left, top), line, size=size, **style)
        top += line_mm(size)
    return top


def line_mm(size: float) -> float:
    """Return the height of a line of type, millimetres."""
    return size * LEADING * MM_PER_INCH / POINTS_PER_INCH


def clean(text: object) -> str:
    r"""Return a text fit for paper: one line, no controls, only letters of the font.

    Examples
    --------
    >>> clean("Mill\x1b\u202e\nweir $x$")
    'Mill weir $x$'
    """
    return "".join(c if _is_held(c) else MISSING for c in one_line(str(text)))


def wrapped(
    text: str, width_mm: float, *, size: float = SMALL, bold: bool = False
) -> list[str]:
    """Break a text into lines that fit a width; a word too long is cut.

    Examples
    --------
    >>> wrapped("wide water", 200.0)
    ['wide water']
    """
    lines: list[str] = []
    for word in clean(text).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(joined, size=size, bold=bold) <= width_mm:
            lines[-1] = joined
        else:
            lines.extend(_cut(word, width_mm, size, bold=bold))
    return lines


def fitted(
    text: str, width_mm: float, *, size: float = SMALL, bold: bool = False
) -> str:
    """Return a text on one line, cut with an ellipsis where it would not fit."""
    told = clean(text)
    if width_of(told, size=size, bold=bold) <= width_mm:
        return told
    while told and width_of(f"{told}…", size=size, bold=bold) > width_mm:
        told = told[:-1]
    return f"{told.rstrip()}…"


def width_of(text: str, *, size: float = SMALL, bold: bool = False) -> float:
    """Return the width of a line of type, millimetres."""
    points = sum(_advance(letter, bold) for letter in text) * size
    return points * MM_PER_INCH / POINTS_PER_INCH


def _cut(word: str, width_mm: float, size: float, *, bold: bool) -> list[str]:
    """Cut a word that is wider than the line."""
    wide = width_of(word, size=size, bold=bold)
    if wide <= width_mm:
        return [word]
    letters = max(1, int(len(word) * width_mm / wide) - 1)
    return textwrap.wrap(word, letters)


@lru_cache(maxsize=2)
def _face(bold: bool) -> Any:  # noqa: ANN401, FBT001 - an untyped font; a cache's key
    weight = "bold" if bold else "normal"
    found = font_manager.FontProperties(family=FONT, weight=weight)
    return font_manager.get_font(font_manager.findfont(found))


@lru_cache(maxsize=2048)
def _advance(letter: str, bold: bool) -> float:  # noqa: FBT001 - a cache's key
    """Return how far a letter moves the pen, over the type's size."""
    face = _face(bold)
    face.set_size(100.0, POINTS_PER_INCH)
    glyph = face.load_char(ord(letter))
    return float(glyph.linearHoriAdvance) / FIXED_POINT / 100.0


@lru_cache(maxsize=4096)
def _is_held(letter: str) -> bool:
    return bool(_face(bold=False).get_char_index(ord(letter)))
