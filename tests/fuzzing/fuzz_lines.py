"""Which lines of the readers ran: what tells the fuzzer that an input is new."""

from __future__ import annotations

import sys
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import layers
import pegscore

WATCHED = tuple(str(Path(room.__file__).parent) for room in (layers, pegscore))


class Lines:
    """Collects the lines of our own code that ran while it watches.

    A function all of whose lines were seen is no longer followed, so that watching
    costs little once the common ways are known.
    """

    def __init__(self) -> None:
        self.seen: set[tuple[str, int]] = set()
        self._open: dict[CodeType, set[int] | None] = {}
        self._before: Any = None

    def __enter__(self) -> Lines:
        self._before = sys.gettrace()
        sys.settrace(self._entered)
        return self

    def __exit__(self, *_: object) -> None:
        sys.settrace(self._before)

    def _entered(self, frame: FrameType, _event: str, _: object) -> Any:
        code = frame.f_code
        if code not in self._open:
            self._open[code] = _lines_of(code)
        return self._ran if self._open[code] else None

    def _ran(self, frame: FrameType, event: str, _: object) -> Any:
        if event == "line":
            left = self._open[frame.f_code]
            if left and frame.f_lineno in left:
                left.discard(frame.f_lineno)
                self.seen.add((frame.f_code.co_filename, frame.f_lineno))
        return self._ran


def _lines_of(code: CodeType) -> set[int] | None:
    """Return the lines of a function of ours; None for everybody else's."""
    if not code.co_filename.startswith(WATCHED):
        return None
    return {line for _, _, line in code.co_lines() if line is not None}
