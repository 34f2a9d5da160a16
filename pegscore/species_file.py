"""What a species file must hold: every fault of every file, told at once."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from pegscore.curves import MARKS, curve_faults
from pegscore.errors import SpeciesRefused

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

CURVES = ("depth_m", "speed_m_s", "temperature_c")
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

_MONTH_DAY = re.compile(r"(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])")


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
        for fault in species_faults(blocks)
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
    for key in CURVES:
        if key in blocks:
            yield from (f"{key}: {fault}" for fault in _curve_block(blocks[key]))
    if "substrate" in blocks:
        yield from (f"substrate: {fault}" for fault in _bottoms(blocks["substrate"]))
    yield from _season(blocks.get("season", {}))


def _curve_block(block: object) -> Iterator[str]:
    points = block.get("points") if isinstance(block, dict) else None
    if not isinstance(points, list) or not all(isinstance(p, list) for p in points):
        yield "has no points; write points = [[0.5, 1.0], [2.0, 0.4]]"
        return
    yield from curve_faults(points)


def _bottoms(block: object) -> Iterator[str]:
    if not isinstance(block, dict):
        yield f"{block!r} is not a table; write [substrate] and a line a class"
        return
    for name in BOTTOMS:
        if name not in block:
            yield f"{name} is missing; give its suitability from 0 to 1"
        else:
            yield from _grade(name, block[name])


def _grade(name: str, value: object) -> Iterator[str]:
    number, mark = (*value, "club")[:2] if isinstance(value, list) else (value, "club")
    if not isinstance(number, (int, float)) or not 0 <= number <= 1:
        yield f"{name} is {number!r}; give a suitability from 0 to 1"
    if mark not in MARKS:
        yield f"{name} bears the mark {mark!r}; use one of {', '.join(MARKS)}"


def _season(block: Mapping[str, Any]) -> Iterator[str]:
    closed = block.get("closed")
    if closed is None:
        return
    good = isinstance(closed, list) and len(closed) == 2  # noqa: PLR2004 - first, last
    if not good or not all(_MONTH_DAY.fullmatch(str(day)) for day in closed):
        yield f'season: closed is {closed!r}; write ["03-15", "06-15"]'
