"""What a species file must hold: every fault of every file, told at once."""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING, Any, TypeGuard

from layers.problems import nearest_name
from pegscore.curves import MARKS, curve_faults, is_number
from pegscore.errors import SpeciesRefused
from pegscore.modifier_file import modifier_faults
from pegscore.oxygen import oxygen_needs

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

CURVES = ("depth_m", "speed_m_s", "temperature_c")
TEXTS = ("title", "scientific", "guild", "evidence")
KEPT = ("limits", "cover", "spawning")
"""Blocks that a file may hold and that no score uses; of ``limits`` the name of the
oxygen template is read."""

BLOCKS = (*TEXTS, *CURVES, "substrate", "heat", "season", "modifier", *KEPT)
"""Everything that a species file may hold."""

BOTTOMS = (
    "clay_mud",
    "silt",
    "sand",
    "fine_gravel",
    "coarse_gravel",
    "cobble",
    "boulder",
    "bedrock",
)
"""The classes of bottom that a species file grades; Wentworth's bounds apply."""

NEEDED = ("title", "depth_m", "speed_m_s", "substrate")
GRADES = ("A", "B", "C", "club")

HOTTEST_C = 40.0
"""No limit above this is meant in degrees Celsius."""

_FILE_NAME = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")
_MONTH_DAY = re.compile(r"\d\d-\d\d")


def check_species(
    told: Mapping[str, Mapping[str, Any]], *, own: Collection[str] = ()
) -> None:
    """Raise ``SpeciesRefused`` with every fault of every species.

    Parameters
    ----------
    told : mapping of str to mapping
        By species, the blocks of its file.
    own : collection of str
        Which of them the club brings; named by their place in the survey folder.
    """
    faults = [
        f"{'species/' if name in own else 'shipped '}{name}.toml: {fault}"
        for name, blocks in told.items()
        for fault in (*_file_name(name), *species_faults(blocks))
    ]
    if faults:
        raise SpeciesRefused("\n".join(faults))


def species_faults(blocks: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with one species' blocks, with key, value and way out."""
    if "fault" in blocks:
        yield str(blocks["fault"])
        return
    for key in NEEDED:
        if key not in blocks:
            yield f"{key} is missing; add it as in a shipped species file"
    yield from _unknown(blocks)
    yield from _texts(blocks)
    for key in CURVES:
        if key in blocks:
            yield from (f"{key}: {fault}" for fault in _curve_block(blocks[key]))
    if "substrate" in blocks:
        yield from (f"substrate: {fault}" for fault in _bottoms(blocks["substrate"]))
    yield from (f"heat: {fault}" for fault in _heat(blocks.get("heat", {})))
    yield from (f"season: {fault}" for fault in _season(blocks.get("season", {})))
    yield from modifier_faults(blocks.get("modifier", []))
    yield from _oxygen(blocks.get("limits", {}))


def _file_name(name: str) -> Iterator[str]:
    if not _FILE_NAME.fullmatch(name):
        good = "_".join(re.findall(r"[a-z0-9]+", name.lower())) or "species"
        yield f"the name {name!r} cannot be asked for; rename the file to {good}.toml"


def _unknown(blocks: Mapping[str, Any]) -> Iterator[str]:
    """Yield keys that nothing reads, so that no slip keeps a shipped value."""
    for key in blocks:
        if key not in BLOCKS:
            near = nearest_name(key, BLOCKS)
            hint = f"did you mean {near!r}?" if near else f"use {', '.join(BLOCKS)}"
            yield f"{key!r} is not a block of a species file; {hint}"


def _texts(blocks: Mapping[str, Any]) -> Iterator[str]:
    for key in TEXTS:
        text = blocks.get(key, "-")
        if not isinstance(text, str) or (key == "title" and not text.strip()):
            yield f"{key} is {text!r}; write it as text in quotes"
    grade = blocks.get("evidence", "club")
    if isinstance(grade, str) and grade not in GRADES:
        yield f"evidence is {grade!r}; use one of {', '.join(GRADES)}"


def _curve_block(block: object) -> Iterator[str]:
    points = block.get("points") if isinstance(block, dict) else None
    if not isinstance(points, list) or not all(isinstance(p, list) for p in points):
        yield "has no points; write points = [[0.5, 1.0], [2.0, 0.4]]"
        return
    yield from curve_faults(points)
    sources = block["sources"] if isinstance(block, dict) and "sources" in block else []
    if not isinstance(sources, list) or not all(isinstance(s, str) for s in sources):
        yield f'sources is {sources!r}; write a list of texts, ["our own netting"]'


def _bottoms(block: object) -> Iterator[str]:
    if not isinstance(block, dict):
        yield f"{block!r} is not a table; write [substrate] and a line a class"
        return
    for name in BOTTOMS:
        if name not in block:
            yield f"{name} is missing; give its suitability from 0 to 1"
        else:
            yield from _grade(name, block[name])
    for name in block:
        if name not in (*BOTTOMS, "sources"):
            yield f"{name!r} is not a class of bottom; use {', '.join(BOTTOMS)}"


def _grade(name: str, value: object) -> Iterator[str]:
    number, mark = value if _is_pair(value) else [value, "club"]
    if not is_number(number) or not 0 <= float(str(number)) <= 1:
        yield f"{name} is {number!r}; give a suitability from 0 to 1"
    if not isinstance(mark, str) or mark not in MARKS:
        yield f"{name} bears the mark {mark!r}; use one of {', '.join(MARKS)}"


def _heat(block: object) -> Iterator[str]:
    if not isinstance(block, dict):
        yield f"{block!r} is not a table; write [heat] and above_c = 21.0"
        return
    above_c, veto = block.get("above_c"), block.get("veto", False)
    if above_c is not None and not (
        is_number(above_c) and 0 < float(str(above_c)) <= HOTTEST_C
    ):
        yield f"above_c is {above_c!r}; give degrees Celsius, 0 to {HOTTEST_C:g}"
    if not isinstance(veto, bool):
        yield f"veto is {veto!r}; write true or false without quotes"
    elif veto and above_c is None:
        yield "veto is true but above_c is missing; say above how many degrees"


def _oxygen(limits: object) -> Iterator[str]:
    template = limits.get("oxygen") if isinstance(limits, dict) else None
    if template is not None and template not in oxygen_needs():
        yield (
            f"limits: oxygen is {template!r}; use one of {', '.join(oxygen_needs())}"
        )


def _season(block: object) -> Iterator[str]:
    if not isinstance(block, dict):
        yield f"{block!r} is not a table; write [season] and its closed days"
        return
    closed, note = block.get("closed"), block.get("note", "")
    if closed is not None and not (
        _is_pair(closed) and all(_is_day(day) for day in closed)
    ):
        yield f'closed is {closed!r}; write ["03-15", "06-15"]'
    if not isinstance(note, str):
        yield f"note is {note!r}; write it as text in quotes"


def _is_pair(value: object) -> TypeGuard[list[object]]:
    return isinstance(value, list) and len(value) == 2  # noqa: PLR2004 - a pair


def _is_day(text: object) -> bool:
    """Say whether a month-day is one that some year has."""
    if not isinstance(text, str) or not _MONTH_DAY.fullmatch(text):
        return False
    try:
        dt.date.fromisoformat(f"2000-{text}")  # a leap year
    except ValueError:
        return False
    return True
