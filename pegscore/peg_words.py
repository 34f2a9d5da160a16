"""What is said of one peg, and of pegs that cannot be told apart, in a day's answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pegscore.reasons import explain
from pegscore.units import is_unknown, length

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pegscore.species import Species

METRES_PER_YARD = 0.9144
"""Exact (international yard and pound agreement, 1959)."""

NAMED = 8
"""How many pegs of a tie are named; more are counted."""

LEVEL_WORDS = {
    "better_above_m": "better above about {}",
    "better_below_m": "better below about {}",
    "worse_above_m": "worse above about {}",
    "worse_below_m": "worse below about {}",
}
"""How a change of level is told, in this order."""

STEP_FREE = {"yes": "step-free", "no": "not step-free"}
"""How the way to a peg is called; unknown is called so."""


def peg_lines(
    species: Species, row: Mapping[Any, Any], units: str, *, levels: int
) -> list[str]:
    """Return what is told of one peg, a sentence or two a line.

    Parameters
    ----------
    species : Species
    row : mapping
        A row of ``pegscore.day.rank_day``.
    units : str
        ``metric`` or ``imperial``.
    levels : int
        How many levels were compared with; none is said so.
    """
    if is_unknown(row["score"]):
        return [str(row["why"])]
    why = f"{explain(species, dict(row), units=units).why} {row['returns']}".strip()
    today = (
        f"Today: {row['modifier_why']}, as told above." if row["modifier_why"] else ""
    )
    mind = f"Mind: {row['cautions']}." if row["cautions"] else ""
    lines = [why, today, level_words(row, units, levels=levels), mind]
    return [line for line in [*lines, walk_words(row, units)] if line]


def level_words(row: Mapping[Any, Any], units: str, *, levels: int) -> str:
    """Say what a rise or fall of the board does to a peg.

    Examples
    --------
    >>> level_words({"better_above_m": 0.75}, "metric", levels=3)
    'Level: better above about 0.75 m.'
    """
    if levels < 1:
        return ""
    told = [
        text.format(length(row[name], units))
        for name, text in LEVEL_WORDS.items()
        if not is_unknown(row.get(name))
    ]
    return f"Level: {'; '.join(told) or 'no clear change at the levels built'}."


def walk_words(row: Mapping[Any, Any], units: str) -> str:
    """Say how far it is and whether there are steps.

    Examples
    --------
    >>> walk_words({"walk_m": 90.0, "walk_basis": "club", "step_free": "no"}, "metric")
    'Walk: 90 m, not step-free.'
    """
    if is_unknown(row["walk_m"]):
        far = "length not known"
    else:
        far = walk_text(row["walk_m"], units)
        if row["walk_basis"] != "club":
            far = f"at least {far} (straight line from the parking)"
    return f"Walk: {far}, {STEP_FREE.get(str(row['step_free']), 'steps not known')}."


def walk_text(walk_m: float, units: str) -> str:
    """Write a walk in whole metres or yards.

    Examples
    --------
    >>> walk_text(100.0, "metric"), walk_text(91.44, "imperial")
    ('100 m', '100 yd')
    """
    if units == "imperial":
        return f"{walk_m / METRES_PER_YARD:.0f} yd"
    return f"{walk_m:.0f} m"


def tie_lines(
    shown: Sequence[Mapping[Any, Any]], everyone: Sequence[Mapping[Any, Any]]
) -> list[str]:
    """Say which of the pegs shown cannot be told apart.

    Parameters
    ----------
    shown, everyone : sequence of mapping
        Rows with ``peg`` and ``tier``; ``everyone`` holds those not shown too.

    Returns
    -------
    list of str
        One sentence a tier with more than one peg.

    Examples
    --------
    >>> rows = [{"peg": "7", "tier": 1}, {"peg": "9", "tier": 1}]
    >>> tie_lines(rows, rows)
    ['Pegs 7 and 9 cannot be told apart.']
    """
    lines = []
    for tier in dict.fromkeys(row["tier"] for row in shown if row["tier"] > 0):
        here = [str(row["peg"]) for row in shown if row["tier"] == tier]
        more = sum(row["tier"] == tier for row in everyone) - len(here)
        if len(here) + more > 1:
            lines.append(_tie(here, more))
    return lines


def joined_names(names: Sequence[str]) -> str:
    """Join names in a sentence, those beyond ``NAMED`` as a number.

    Examples
    --------
    >>> joined_names(["7"]), joined_names(["7", "8", "9"])
    ('7', '7, 8 and 9')
    """
    unnamed = len(names[NAMED:])
    *most, last = [*names[:NAMED], f"{unnamed} more"] if unnamed else names
    return f"{', '.join(most)} and {last}" if most else last


def _tie(here: list[str], more: int) -> str:
    told = joined_names(here)
    others = "one other" if more == 1 else f"{more} others"
    if len(here) == 1:
        return f"Peg {told} cannot be told apart from {others} not shown."
    rest = f", nor from {others} not shown" if more else ""
    return f"Pegs {told} cannot be told apart{rest}."
