"""What the command line shows: progress, tables, problems. Text in, text out."""

from __future__ import annotations

import json
import re
import sys
import textwrap
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from layers.river import SUBSTRATES
from pegscore.units import is_unknown, share

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd

    from layers.problems import Problem


WIDTH = 100
"""Columns of a terminal that an answer keeps to."""

_BEFORE_A_UNIT = re.compile(r"(?<=\d) (?=(?:°C|%|m|m/s|mg/l|ft|ft/s|yd)\b|%|°)")

DONE, REFUSED, MISUSED = 0, 1, 2
"""Exit statuses: done, refused input, misuse."""


@dataclass(slots=True)
class ProgressLines:
    """Says each step on stderr, with the seconds since the start."""

    silent: bool = False
    _start_s: float = field(default_factory=time.perf_counter)

    def __call__(self, step: str) -> None:
        """Show one step."""
        if not self.silent:
            spent_s = time.perf_counter() - self._start_s
            print(f"{spent_s:6.1f} s  {step}", file=sys.stderr, flush=True)


@dataclass(slots=True)
class ProgressBar:
    """One line on stderr that fills up; on a terminal it is drawn over itself."""

    what: str
    silent: bool = False
    _places: int = 0
    _told: int = 0

    def __call__(self, done: int, of: int, places: int) -> None:
        """Show how many are done, of how many, and the places scored so far."""
        self._places += places
        tenths = 10 * done // of
        drawn_over = sys.stderr.isatty()
        if self.silent or (tenths == self._told and not drawn_over):
            return
        self._told = tenths
        bar = "#" * (2 * tenths) + "." * (20 - 2 * tenths)
        line = f"[{bar}] {done:,} of {of:,} {self.what}, {self._places:,} places"
        end = "\r" if drawn_over else "\n"
        print(line, end=end, file=sys.stderr, flush=True)

    def end(self) -> None:
        """Leave the line."""
        if self._told and not self.silent and sys.stderr.isatty():
            print(file=sys.stderr)


def show(text: str = "") -> None:
    """Print one piece of the answer on stdout."""
    print(text)


def wrapped(text: str, *, first: str = "", rest: str = "  ") -> str:
    """Break a text into lines no longer than ``WIDTH``, numbers beside their unit.

    Examples
    --------
    >>> [len(line) for line in wrapped("word " * 25, first="- ").splitlines()]
    [96, 31]
    """
    glued = _BEFORE_A_UNIT.sub("\N{NO-BREAK SPACE}", " ".join(text.split()))
    filled = textwrap.fill(
        glued,
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace("\N{NO-BREAK SPACE}", " ")


def show_json(answer: object) -> None:
    """Print an answer for machines: JSON in which unknown numbers are null."""
    print(json.dumps(plain(answer), indent=2, ensure_ascii=False, allow_nan=False))


def shortened(text: str, longest: int = 24) -> str:
    """Cut a text that would push a table off the screen.

    Examples
    --------
    >>> shortened("12a"), shortened("by the old mill", 8)
    ('12a', 'by the …')
    """
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def counted(count: int, word: str) -> str:
    """Put a number before its word, in the plural where it needs one.

    Examples
    --------
    >>> counted(1, "warning"), counted(0, "warning")
    ('1 warning', '0 warnings')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def complain(lines: Iterable[str]) -> None:
    """Print each problem as one line on stderr."""
    for line in lines:
        print(" ".join(line.split()), file=sys.stderr)


def plain(value: Any) -> Any:  # noqa: ANN401 - whatever JSON can hold
    """Return ``value`` as plain JSON values; ``NaN`` and missing become None.

    Examples
    --------
    >>> plain({"low": float("nan"), "levels": (0.5, 1)})
    {'low': None, 'levels': [0.5, 1]}
    """
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(item) for item in value]
    if hasattr(value, "item") and not isinstance(value, (str, bytes)):
        value = value.item()
    if is_unknown(value):
        return None
    return value if isinstance(value, (bool, int, float, str)) else str(value)


def records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return a table as a list of plain rows, without any geometry."""
    columns = [name for name in table if str(table[name].dtype) != "geometry"]
    return [plain(row) for row in table[columns].to_dict("records")]


def text_table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Lay rows out in columns, numbers to the right.

    Examples
    --------
    >>> print(text_table(["peg", "score"], [["7", "0.81"], ["12a", "0.4"]]))
    peg  score
    ---  -----
      7   0.81
    12a    0.4
    """
    rows = [[*map(str, row)] for row in rows]
    widths = [max(map(len, column)) for column in zip(header, *rows, strict=True)]
    rule = ["-" * width for width in widths]
    lines = [
        "  ".join(_padded(text, width) for text, width in zip(row, widths, strict=True))
        for row in ([*header], rule, *rows)
    ]
    return "\n".join(line.rstrip() for line in lines)


def problem_lines(problems: Iterable[Problem]) -> list[str]:
    """Return one line a problem, refusals first."""
    ordered = sorted(problems, key=lambda problem: not problem.refused)
    word = {True: "REFUSED", False: "warning"}
    return [f"{word[problem.refused]}  {problem.line()}" for problem in ordered]


def main_bottom(row: Mapping[Any, Any]) -> str:
    """Name the commonest bottom of a swim with its share.

    Examples
    --------
    >>> main_bottom({"silt_share": 0.2, "gravel_share": 0.7, "sand_share": 0.1})
    'gravel 70 %'
    """
    shares = {
        name: row[f"{name}_share"]
        for name in SUBSTRATES
        if not is_unknown(row.get(f"{name}_share"))
    }
    if not shares:
        return "unknown"
    most = max(shares, key=lambda name: float(shares[name]))
    return f"{most} {share(shares[most])}"


def _padded(text: str, width: int) -> str:
    number = text.replace(".", "").replace("-", "").isdigit()
    return text.rjust(width) if number else text.ljust(width)
