"""The weight a float wants: common practice and our own proposals, never a finding."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from pegscore.curves import MARKS, is_number
from pegscore.errors import BaitsRefused
from pegscore.own_toml import TomlFault, read_own_toml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

FILE = "float_guide.toml"
MOST_G = 50.0
"""No weight of a float or a shot above this is meant in grams."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatWeight:
    """A starting weight for a float.

    Parameters
    ----------
    grams : float
        0 where a float is no longer the tool; ``NaN`` where depth or pace is unknown.
    shot : str
        About the same in plain shot sizes, empty if it cannot be made up.
    words : str
        What kind of float.
    mark : str
        See ``pegscore.curves.MARKS``.
    """

    grams: float
    shot: str
    words: str
    mark: str


def read_float_guide(survey_folder: Path | None = None) -> Mapping[str, Any]:
    """Return the guide: a club's own file, else the shipped one.

    Raises
    ------
    BaitsRefused
        If the file cannot be used, with every fault.
    """
    own = None if survey_folder is None else survey_folder / FILE
    if own is None or not own.is_file():
        text = files("pegscore").joinpath("data", FILE).read_text("utf-8")
        return tomllib.loads(text)
    try:
        guide = read_own_toml(own, own.parent)
    except TomlFault as fault:
        message = f"{FILE}: {fault}"
        raise BaitsRefused(message) from fault
    faults = [f"{FILE}: {fault}" for fault in guide_faults(guide)]
    if faults:
        raise BaitsRefused("\n".join(faults))
    return guide


def float_weight(
    guide: Mapping[str, Any], *, depth_m: float, speed_m_s: float
) -> FloatWeight:
    """Return a starting weight by depth and depth-mean pace.

    Examples
    --------
    A foot and a half in a steady glide: 0.66 grams a metre, a No 4 to the foot.

    >>> weight = float_weight(read_float_guide(), depth_m=0.9144, speed_m_s=0.2)
    >>> weight.grams, weight.shot
    (0.6, '1 BB + 1 No 4')
    """
    if not (depth_m > 0 and speed_m_s >= 0):
        return FloatWeight(
            grams=math.nan, shot="", words="depth or pace unknown", mark=""
        )
    row = next(
        row for row in guide["pace"] if speed_m_s <= row.get("up_to_m_s", math.inf)
    )
    grams = float(row["grams_per_m"]) * depth_m
    if grams > 0:
        grams = round(max(grams, float(guide["least_g"])), 1)
    return FloatWeight(
        grams=grams,
        shot=_in_shot(grams, guide.get("shot", {})),
        words=str(row["words"]),
        mark=str(row["mark"]),
    )


def _in_shot(grams: float, sizes: Mapping[str, float]) -> str:
    """Make a weight up of shot, largest first, to the nearest of the smallest."""
    if not sizes or grams <= 0:
        return ""
    smallest = min(sizes.values())
    left = round(grams / smallest) * smallest
    parts = []
    for name, each in sorted(sizes.items(), key=lambda item: -item[1]):
        count = int((left + smallest / 10) // each)
        left -= count * each
        parts += [f"{count} {name}"] if count else []
    return " + ".join(parts)


def guide_faults(guide: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with a guide, with key, value and way out.

    Examples
    --------
    >>> list(guide_faults({"least_g": 0.4, "pace": 3}))
    ['pace is 3; write a [[pace]] block for each band of pace']
    """
    if not _grams(guide.get("least_g")):
        yield f"least_g is {guide.get('least_g')!r}; give grams, for example 0.4"
    shot = guide.get("shot", {})
    if not isinstance(shot, dict) or not all(
        _grams(size) and size > 0 for size in shot.values()
    ):
        yield f"shot is {shot!r}; give grams above 0 for each size"
    rows = guide.get("pace")
    if not isinstance(rows, list) or not rows or not _are_blocks(rows):
        yield f"pace is {rows!r}; write a [[pace]] block for each band of pace"
        return
    yield from _band_faults(rows)


def _band_faults(rows: list[dict[str, Any]]) -> Iterator[str]:
    for row in rows:
        if not _grams(row.get("grams_per_m")):
            yield f"grams_per_m is {row.get('grams_per_m')!r}; give grams a metre"
        if not isinstance(row.get("words"), str):
            yield f"words is {row.get('words')!r}; write the kind of float in quotes"
        if row.get("mark") not in MARKS:
            yield f"mark is {row.get('mark')!r}; use {', '.join(MARKS)}"
    ends = [row.get("up_to_m_s") for row in rows]
    bounds = [float(str(end)) for end in ends[:-1] if is_number(end)]
    grows = len(bounds) == len(ends) - 1 and all(a < b for a, b in pairwise(bounds))
    if ends[-1] is not None or not grows:
        yield (
            f"up_to_m_s goes {ends!r}; let it grow from block to block and leave it "
            "out of the last"
        )


def _grams(value: object) -> bool:
    return is_number(value) and 0 <= float(str(value)) <= MOST_G


def _are_blocks(rows: list[object]) -> bool:
    return all(isinstance(row, dict) for row in rows)
