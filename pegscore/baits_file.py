"""What a file of baits must hold: every fault told at once."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from layers.problems import nearest_name
from pegscore.curves import MARKS, is_number
from pegscore.errors import BaitsRefused

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

RANGES = {"size_mm": 3, "density_kg_m3": 3, "drag": 2}
"""The keys that hold a range, and of how many numbers."""

BOUNDS = {
    "size_mm": (0.5, 150.0),
    "density_kg_m3": (500.0, 3000.0),
    "drag": (0.1, 5.0),
    "sink_depth_m": (0.1, 20.0),
    "sink_seconds": (0.2, 3600.0),
}
"""Beyond these a number is a slip of the pen or of its unit; our proposal."""

KEYS = (*BOUNDS, "title", "floats", "marks", "sources")
NUMBERS_NEEDED = "give size_mm, density_kg_m3 and drag, or a bucket test, or floats"


def check_baits(told: Mapping[str, Any], *, own: Collection[str] = ()) -> None:
    """Raise ``BaitsRefused`` with every fault of every bait.

    Parameters
    ----------
    told : mapping of str to mapping
        By bait, what the file says of it.
    own : collection of str
        Which of them the club's file names.
    """
    faults = [
        f"{'baits.toml' if name in own else 'shipped baits.toml'}: [{name}] {fault}"
        for name, block in told.items()
        for fault in bait_faults(block)
    ]
    if faults:
        raise BaitsRefused("\n".join(faults))


def bait_faults(block: object) -> Iterator[str]:
    """Yield what is wrong with one bait, with key, value and way out.

    Examples
    --------
    >>> list(bait_faults({"sink_depth_m": 1.0, "sink_seconds": "ten"}))
    ["sink_seconds is 'ten'; give numbers from 0.2 to 3600"]
    """
    if not isinstance(block, dict):
        yield f"is {block!r}; write [name] and a line a value"
        return
    for key in block:
        if key not in KEYS:
            near = nearest_name(key, KEYS)
            hint = f"did you mean {near!r}?" if near else f"use {', '.join(KEYS)}"
            yield f"{key!r} is not known; {hint}"
    for key in BOUNDS:
        if key in block:
            yield from _numbers(key, block[key])
    yield from _words(block)
    yield from _enough(block)


def _numbers(key: str, value: object) -> Iterator[str]:
    low, high = BOUNDS[key]
    single = key not in RANGES and not isinstance(value, list)
    numbers = [value] if single else value if isinstance(value, list) else []
    if not numbers or not all(
        is_number(each) and low <= float(str(each)) <= high for each in numbers
    ):
        yield f"{key} is {value!r}; give numbers from {low:g} to {high:g}"
    elif key == "sink_depth_m" and not single:
        yield f"{key} is {value!r}; give one depth for all timings"
    elif key in RANGES and not _rises(numbers, RANGES[key]):
        yield f"{key} is {value!r}; give {RANGES[key]} numbers from least to most"


def _rises(numbers: list[Any], count: int) -> bool:
    return len(numbers) == count and all(a <= b for a, b in pairwise(numbers))


def _words(block: Mapping[str, Any]) -> Iterator[str]:
    title = block.get("title", "-")
    if not isinstance(title, str) or not title.strip():
        yield f"title is {title!r}; write it as text in quotes"
    if not isinstance(block.get("floats", False), bool):
        yield f"floats is {block['floats']!r}; write true or false without quotes"
    marks = block.get("marks", {})
    if not isinstance(marks, dict) or not all(
        isinstance(mark, str) and mark in MARKS for mark in marks.values()
    ):
        yield f"marks is {marks!r}; use {', '.join(MARKS)}"


def _enough(block: Mapping[str, Any]) -> Iterator[str]:
    timed = [key in block for key in ("sink_depth_m", "sink_seconds")]
    if any(timed) and not all(timed):
        yield "a bucket test wants both sink_depth_m and sink_seconds"
    elif not any(timed) and block.get("floats") is not True:
        missing = [key for key in RANGES if key not in block]
        if missing:
            yield f"{' and '.join(missing)} missing; {NUMBERS_NEEDED}"
