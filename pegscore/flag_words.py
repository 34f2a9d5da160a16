"""What a score leans on that nobody measured or published, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from pegscore.peg_words import joined_names, walk_text
from pegscore.row_flags import FAR_M
from pegscore.units import is_unknown

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


class Flag(NamedTuple):
    """One thing that a score leans on: two or three words, and a sentence."""

    tag: str
    sentence: str


MARK = "!"
"""Stands behind such a score in a table, beside words that say what it means."""

FLAG_COLUMNS = ("beyond_survey", "unsourced", "extrapolated")
"""What a ranking holds of them."""

BEYOND_SURVEY = Flag(
    "beyond the survey",
    "Beyond the survey: most of this water lies over "
    f"{walk_text(FAR_M, 'metric')} ({walk_text(FAR_M, 'imperial')}) from every "
    "sounding; its depth is carried on from elsewhere.",
)

BEYOND_LEVELS = Flag(
    "level not measured",
    "Level not measured: the board stands beyond every reading at which pace, or "
    "anything, was measured here; pace, perhaps depth too, is stretched to it.",
)


def unsourced_flag(quantities: str) -> Flag:
    """Return the flag of a curve without a source where the water lies.

    Examples
    --------
    >>> unsourced_flag("depth, pace").tag
    'no source for depth and pace'
    """
    named = quantities.replace(", ", " and ")
    return Flag(
        f"no source for {named}",
        f"No source for {named}: how such water suits this fish is common practice or "
        "our own guess; no published figure covers it.",
    )


def flags_of(row: Mapping[Any, Any]) -> list[Flag]:
    """Return what a row of a ranking leans on; nothing where it has no score.

    Parameters
    ----------
    row : mapping
        As of ``pegscore.workflow.rank_run``; a column that is not there flags nothing.

    Examples
    --------
    >>> row = {"score": 0.4, "beyond_survey": True, "unsourced": "depth"}
    >>> [flag.tag for flag in flags_of(row)]
    ['beyond the survey', 'no source for depth']
    """
    if is_unknown(row.get("score")):
        return []
    found = []
    beyond, quantities, stretched = (
        None if is_unknown(row.get(name)) else row[name] for name in FLAG_COLUMNS
    )
    if beyond:
        found.append(BEYOND_SURVEY)
    if quantities:
        found.append(unsourced_flag(str(quantities)))
    if stretched:
        found.append(BEYOND_LEVELS)
    return found


def flag_lines(
    rows: Sequence[Mapping[Any, Any]], *, but: Sequence[Flag] = ()
) -> list[str]:
    """Say of each flag which of the pegs shown bear it, a sentence or two each.

    ``but`` are flags that the same answer tells elsewhere.

    Examples
    --------
    >>> rows = [{"peg": peg, "score": 0.4, "unsourced": "pace"} for peg in ("3", "5")]
    >>> for line in flag_lines([*rows, {"peg": "7", "score": 0.5}]):
    ...     print(line)  # doctest: +NORMALIZE_WHITESPACE
    No source for pace: how such water suits this fish is common practice or our own
    guess; no published figure covers it. Pegs 3 and 5.
    """
    bearers: dict[Flag, list[str]] = {}
    for row in rows:
        for flag in flags_of(row):
            bearers.setdefault(flag, []).append(str(row["peg"]))
    return [
        f"{flag.sentence} {_pegs(names, len(rows))}."
        for flag, names in bearers.items()
        if flag not in but
    ]


def _pegs(names: Sequence[str], shown: int) -> str:
    if len(names) == 1:
        return f"Peg {names[0]}"
    if len(names) == shown:
        return "All pegs shown"
    return f"Pegs {joined_names(names)}"


def care_words(row: Mapping[Any, Any]) -> str:
    """Name a row's flags in one short line; empty if it has none.

    Examples
    --------
    >>> care_words({"score": 0.4, "beyond_survey": True, "unsourced": "pace"})
    'With care: beyond the survey; no source for pace.'
    """
    tags = "; ".join(flag.tag for flag in flags_of(row))
    return f"With care: {tags}." if tags else ""


def mark_of(row: Mapping[Any, Any], *, but: Sequence[Flag] = ()) -> str:
    """Return ``!`` for a row with a flag that the same answer tells nowhere else.

    Examples
    --------
    >>> mark_of({"score": 0.4, "extrapolated": True}, but=[BEYOND_LEVELS])
    ''
    """
    return MARK if any(flag not in but for flag in flags_of(row)) else ""
