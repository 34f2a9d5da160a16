"""What a ``[[modifier]]`` of a species file must hold."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from layers.problems import nearest_name
from pegscore.curves import MARKS, is_number
from pegscore.daylight import PHASES
from pegscore.modifiers import BY, CLARITIES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

MOST = 2.0
"""No modifier does more than double a score; our proposal, against slips."""

WHEN = ("light", "clarity", "water_below_c", "high_water")
KEYS = (*WHEN, "by", "points", "factor", "note", "sources")
WORDS = {"light": PHASES, "clarity": CLARITIES}


def modifier_faults(blocks: object) -> Iterator[str]:
    """Yield what is wrong with a file's modifiers, with value and way out.

    Examples
    --------
    >>> list(modifier_faults([{"light": ["nite"], "factor": 0.8, "note": "rest"}]))
    ["modifier 1: light is ['nite']; use a list of dawn, day, dusk, night"]
    """
    if not isinstance(blocks, list) or not all(isinstance(b, dict) for b in blocks):
        yield f"modifier is {blocks!r}; write each under [[modifier]]"
        return
    for number, block in enumerate(blocks, 1):
        for fault in (*_keys(block), *_when(block), *_what(block)):
            yield f"modifier {number}: {fault}"


def _keys(block: Mapping[str, object]) -> Iterator[str]:
    for key in block:
        if key not in KEYS:
            near = nearest_name(key, KEYS)
            hint = f"did you mean {near!r}?" if near else f"use {', '.join(KEYS)}"
            yield f"{key!r} is not a key of a modifier; {hint}"
    if not any(key in block for key in WHEN):
        yield f"it never says when it holds; give one of {', '.join(WHEN)}"


def _when(block: Mapping[str, object]) -> Iterator[str]:
    for key, words in WORDS.items():
        given = block.get(key, [])
        if not isinstance(given, list) or not all(word in words for word in given):
            yield f"{key} is {given!r}; use a list of {', '.join(words)}"
    below_c = block.get("water_below_c", 0.0)
    if not is_number(below_c):
        yield f"water_below_c is {below_c!r}; give degrees Celsius"
    high = block.get("high_water", False)
    if not isinstance(high, bool):
        yield f"high_water is {high!r}; write true or false without quotes"


def _what(block: Mapping[str, object]) -> Iterator[str]:
    note = block.get("note")
    if not isinstance(note, str) or not note.strip():
        yield f"note is {note!r}; say in a sentence what it is"
    if "points" in block and "factor" in block:
        yield "it has both points and a factor; keep one of them"
    if "factor" in block:
        single = block["factor"]
        yield from _factor(single if isinstance(single, list) else [single])
    if "points" in block:
        yield from _points(block)


def _factor(pair: list[object]) -> Iterator[str]:
    value, mark = (*pair, "club")[:2] if pair else (None, "club")
    if not is_number(value) or not 0 <= float(str(value)) <= MOST:
        yield f"factor is {value!r}; give a number from 0 to {MOST:g}"
    if not isinstance(mark, str) or mark not in MARKS:
        yield f"the mark is {mark!r}; use one of {', '.join(MARKS)}"


def _points(block: Mapping[str, object]) -> Iterator[str]:
    if block.get("by") not in BY:
        yield f"by is {block.get('by')!r}; points run along {' or '.join(BY)}"
    points = block["points"]
    if not isinstance(points, list) or len(points) < 2:  # noqa: PLR2004 - a line has two ends
        yield f"points is {points!r}; write [[0.0, 1.2], [0.1, 1.0]]"
        return
    for point in points:
        if not isinstance(point, list) or len(point) < 2 or not is_number(point[0]):  # noqa: PLR2004 - x and factor
            yield f"point {point!r} is not [x, factor, mark]; write it so"
            return
        yield from _factor(point[1:])
    for (before, *_), (after, *_) in pairwise(points):
        if not after > before:
            yield f"x does not rise from {before} to {after}; sort by x"
