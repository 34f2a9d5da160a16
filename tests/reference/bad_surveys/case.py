"""One spoilt survey and what must come of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

Spoil = Callable[[Path], object]
"""What spoils a survey folder."""

Outcome = Literal["refused", "warned", "repaired"]

PROGRAMMER = re.compile(r"Traceback|Error\(|<class|object at 0x|numpy|pandas|NoneType")
"""Words that mean nothing to a club."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """What is done to the clean survey and what must be said.

    ``refused``: a refusal with all the words, at the place. ``warned``: the run goes
    on, a warning with all the words, and every table equals the clean survey's, but
    for the rows ``left_out`` and the tables that ``differ`` as was told.
    ``repaired``: the same with no refusal, words or none.
    """

    spoil: Spoil
    outcome: Outcome
    file: str = ""
    words: tuple[str, ...] = ()
    row: int | None = None
    column: str | None = None
    left_out: Mapping[str, list[int]] = field(default_factory=dict)
    differ: tuple[str, ...] = ()
    within: float = 0.0


def refused(spoil: Spoil, file: str, *words: str, **at: object) -> Case:
    return Case(spoil=spoil, outcome="refused", file=file, words=words, **at)


def warned(spoil: Spoil, file: str, *words: str, **at: object) -> Case:
    return Case(spoil=spoil, outcome="warned", file=file, words=words, **at)


def repaired(spoil: Spoil, **at: object) -> Case:
    return Case(spoil=spoil, outcome="repaired", **at)
