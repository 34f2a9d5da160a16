"""What the command line shows: progress, tables, problems. Text in, text out."""

from __future__ import annotations

import json
import sys
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from layers.river import SUBSTRATES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd

    from layers.problems import Problem

FEET_PER_METRE = 1 / 0.3048
"""Exact: the international foot is 0.3048 m (international yard and pound, 1959)."""


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


def show(text: str = "") -> None:
    """Print one piece of the answer on stdout."""
    print(text)


def show_json(answer: object) -> None:
    """Print an answer for machines: JSON in which unknown numbers are null."""
    print(json.dumps(plain(answer), indent=2, ensure_ascii=False, allow_nan=False))


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


def is_unknown(value: object) -> bool:
    """Say whether a value is missing: None, ``NaN`` or pandas' own mark for it.

    Examples
    --------
    >>> is_unknown(float("nan")), is_unknown(None), is_unknown(0.0)
    (True, True, False)
    """
    return value is None or str(value) in {"nan", "<NA>", "NaT"}


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


def length(value_m: float, units: str) -> str:
    """Write a length for people.

    Examples
    --------
    >>> length(1.5, "metric"), length(1.5, "imperial"), length(float("nan"), "metric")
    ('1.50 m', '4.9 ft', 'unknown')
    """
    if is_unknown(value_m):
        return "unknown"
    if units == "imperial":
        return f"{value_m * FEET_PER_METRE:.1f} ft"
    return f"{value_m:.2f} m"


def pace(value_m_s: float, units: str) -> str:
    """Write a speed of water for people.

    Examples
    --------
    >>> pace(0.5, "metric"), pace(0.5, "imperial")
    ('0.50 m/s', '1.6 ft/s')
    """
    if is_unknown(value_m_s):
        return "unknown"
    if units == "imperial":
        return f"{value_m_s * FEET_PER_METRE:.1f} ft/s"
    return f"{value_m_s:.2f} m/s"


def share(value: float) -> str:
    """Write a share in per cent."""
    return "unknown" if is_unknown(value) else f"{100 * value:.0f} %"


def main_bottom(row: Mapping[str, Any]) -> str:
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
