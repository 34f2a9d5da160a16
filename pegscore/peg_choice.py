"""The choice of pegs as plain arrays, and its exact answer.

``best_choice`` answers by dynamic programming where the banks do not disturb each
other, and by HiGHS where they do, or where a bank doubles back on itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from pegscore.bank_plan import Bank, fullest, plan_banks
from pegscore.conflicts import cliques_of, last_compatible
from pegscore.milp import Row, choose

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

DYNAMIC = "dynamic programme"
HIGHS = "HiGHS"

PROVEN = 1e-9
"""Gaps below this are rounding."""

NONE = -1
"""The number of pegs where not even the kept ones keep every rule."""

WHOLE_PEG = 0.9
"""Nearer than this to a bound, a count of pegs cannot be beaten by a whole one."""

COUNTING_S = 40.0
"""Seconds for counting how many pegs fit where the banks disturb each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PegChoice:
    """Places among which pegs are chosen, in order along each bank.

    Parameters
    ----------
    values : float array (place,)
        What a peg there is worth.
    on_left : bool array (place,)
        The left bank's places come first.
    along_m : float array (place,)
        Down the river; only the speed of the solver leans on it.
    conflicts : bool array (place, place)
        Which two may not both hold a peg; symmetric.
    kept : bool array (place,)
        Must hold a peg; no two of them may conflict.
    step_free : bool array (place,)
    sections : int, default=0
        If above 0, the pegs must fall into so many sections of equal size, give or
        take one peg, each on one bank.
    """

    values: Floats
    on_left: Bools
    along_m: Floats
    conflicts: Bools
    kept: Bools
    step_free: Bools
    sections: int = 0

    def only(self, wanted: Bools) -> PegChoice:
        """Return the choice among some of the places; kept ones stay."""
        use = wanted | self.kept
        return replace(
            self,
            values=self.values[use],
            on_left=self.on_left[use],
            along_m=self.along_m[use],
            conflicts=self.conflicts[np.ix_(use, use)],
            kept=self.kept[use],
            step_free=self.step_free[use],
        )


class Chosen(NamedTuple):
    """A plan: its places, how it was found, and how much better one could still be.

    ``gap`` is (bound - value) / value, 0 where the plan is proven to be the best.
    """

    places: Ints
    value: float
    gap: float
    method: str


class Largest(NamedTuple):
    """How many pegs fit: so many surely, and no more than ``at_most``.

    The two differ only where the time was too short; -1 if none fit.
    """

    pegs: int
    at_most: int


def best_choice(choice: PegChoice, pegs: int, step_free: int = 0) -> Chosen | None:
    """Return the most valuable plan, or None if none keeps every rule.

    Parameters
    ----------
    choice : PegChoice
        The places and what binds them.
    pegs : int
        How many are chosen, kept ones among them.
    step_free : int, default=0
        How many of them must be step-free at least.
    """
    open_ = np.asarray(~choice.conflicts[choice.kept].any(axis=0), bool)
    within = choice.only(open_)
    banks = None if _face(within) else _banks(within)
    if banks is not None:
        found = _planned(within, banks, pegs, step_free)
    else:
        found = _solved(within, pegs, step_free)
    if found is None:
        return None
    back = np.flatnonzero(open_ | choice.kept)
    return found._replace(places=back[found.places])


def most_pegs(choice: PegChoice, step_free: int = 0) -> Largest:
    """Return the largest number of pegs that keeps every rule."""
    each = replace(choice, values=np.ones(len(choice.values)))
    found = _most(replace(each, sections=0), step_free)
    if not choice.sections:
        return found
    numbers = range(found.at_most, max(choice.sections, step_free) - 1, -1)
    fits = (n for n in numbers if best_choice(each, n, step_free) is not None)
    largest = next(fits, NONE)
    return Largest(largest, largest)


def _most(choice: PegChoice, step_free: int) -> Largest:
    open_ = np.asarray(~choice.conflicts[choice.kept].any(axis=0), bool)
    within = choice.only(open_)
    banks = _banks(within)
    at_most = len(within.values)
    if banks is not None:
        at_most = fullest(banks, step_free)
        if at_most < 0 or not _face(within):
            return Largest(at_most, at_most)
    wish = Row(within.step_free.astype(float), step_free, np.inf)
    groups = cliques_of(within.conflicts, within.along_m)
    # a bound less than a whole peg above the count proves it
    near = WHOLE_PEG / max(at_most, 1)
    found = choose(
        within.values, groups, [wish], kept=within.kept, near=near, limit_s=COUNTING_S
    )
    if found is None:
        return Largest(NONE, NONE)
    return Largest(len(found.chosen), min(math.floor(found.bound + PROVEN), at_most))


def splits_of(pegs: int, sections: int) -> list[tuple[int, int]]:
    """Return the allowed numbers of pegs on the left and right bank.

    Examples
    --------
    Five pegs in two sections: three and two, on one bank or on both.

    >>> splits_of(5, 2)
    [(0, 5), (2, 3), (3, 2), (5, 0)]
    """
    if not sections:
        return [(left, pegs - left) for left in range(pegs + 1)]
    size = pegs // sections
    found = set()
    for on_left in range(sections + 1):
        on_right = sections - on_left
        for left in range(size * on_left, (size + 1) * on_left + 1):
            if size * on_right <= pegs - left <= (size + 1) * on_right:
                found.add((left, pegs - left))
    return sorted(found)


def _face(choice: PegChoice) -> bool:
    """Say whether any two places of opposite banks conflict."""
    left = choice.on_left
    return bool(choice.conflicts[np.ix_(left, ~left)].any())


def _banks(choice: PegChoice) -> list[Bank] | None:
    """Return the banks if each can be planned along its order, else None."""
    banks = []
    for own in (choice.on_left, ~choice.on_left):
        last = last_compatible(choice.conflicts[np.ix_(own, own)])
        if last is None:
            return None
        banks.append(
            Bank(choice.values[own], last, choice.kept[own], choice.step_free[own])
        )
    return banks


def _planned(
    choice: PegChoice, banks: list[Bank], pegs: int, step_free: int
) -> Chosen | None:
    found = plan_banks(banks, splits_of(pegs, choice.sections), step_free)
    if found is None:
        return None
    left, right = (np.flatnonzero(own) for own in (choice.on_left, ~choice.on_left))
    places = np.concatenate([left[found[0]], right[found[1]]])
    return Chosen(places, float(choice.values[places].sum()), 0.0, DYNAMIC)


def _solved(choice: PegChoice, pegs: int, step_free: int) -> Chosen | None:
    extras = [choice.sections] if choice.sections else []
    more = np.zeros(len(extras))
    everywhere = np.ones(len(choice.values))
    rows = [
        Row(np.append(everywhere, more), pegs, pegs),
        Row(np.append(choice.step_free, more), step_free, np.inf),
    ]
    if choice.sections:
        rows += _section_rows(choice, pegs)
    groups = cliques_of(choice.conflicts, choice.along_m)
    found = choose(choice.values, groups, rows, kept=choice.kept, extras=extras)
    if found is None:
        return None
    value = float(choice.values[found.chosen].sum())
    gap = max(found.bound - value, 0.0) / max(abs(value), 1.0)
    return Chosen(found.chosen, value, 0.0 if gap < PROVEN else gap, HIGHS)


def _section_rows(choice: PegChoice, pegs: int) -> list[Row]:
    """Let each bank's number of pegs make whole sections; the extra counts the left."""
    size = pegs // choice.sections
    left, right = choice.on_left.astype(float), (~choice.on_left).astype(float)
    return [
        Row(np.append(left, -size), 0.0, np.inf),
        Row(np.append(left, -(size + 1)), -np.inf, 0.0),
        Row(np.append(right, size), size * choice.sections, np.inf),
        Row(np.append(right, size + 1), -np.inf, (size + 1) * choice.sections),
    ]
