"""A match's pegs and sections as even as the bank allows.

First the worst peg is made as good as it can be, then the best one is brought as
near to it as it can: that is the window of scores from which the pegs are chosen.
Then the pegs are cut into sections of consecutive pegs, equal in number give or take
one, each on one bank: the poorest section as good as it can be, then the richest as
near to it as it can. Each step is exact, in this order.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from pegscore.errors import LayoutRefused
from pegscore.peg_choice import best_choice

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from pegscore.peg_choice import PegChoice

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

ROUNDING = 1e-9
"""Means closer than this are one."""


def even_window(choice: PegChoice, pegs: int, step_free: int = 0) -> Bools | None:
    """Return the places from which an even plan is chosen, or None if none fits.

    Kept pegs are taken as they are: the window is that of the others.

    Parameters
    ----------
    choice : PegChoice
    pegs, step_free : int
        As for ``pegscore.peg_choice.best_choice``.
    """
    flat = replace(choice, values=np.zeros(len(choice.values)))
    values = choice.values

    def fits(low: float, high: float) -> bool:
        inside = (values >= low) & (values <= high)
        return best_choice(flat.only(inside), pegs, step_free) is not None

    if not fits(-np.inf, np.inf):
        return None
    steps = np.unique(np.append(values[~choice.kept], 0.0))
    low = _last(steps, lambda step: fits(step, np.inf))
    upper = steps[steps >= low][::-1]
    high = _last(upper, lambda step: fits(low, step))
    return np.asarray((values >= low) & (values <= high))


def _last(steps: Floats, holds: Callable[[float], bool]) -> float:
    """Return the last step that holds; all before it do, and the first one must."""
    first, beyond = 0, len(steps)
    while beyond - first > 1:
        middle = (first + beyond) // 2
        if holds(float(steps[middle])):
            first = middle
        else:
            beyond = middle
    return float(steps[first])


class _Side(NamedTuple):
    """One bank's pegs in order, and into how many sections they fall."""

    values: Floats
    sections: int
    size: int

    @property
    def longer(self) -> int:
        """How many sections hold one peg more."""
        return len(self.values) - self.sections * self.size

    @property
    def fits(self) -> bool:
        """Whether such sections are possible at all."""
        return 0 <= self.longer <= self.sections


def split_sections(left: Floats, right: Floats, sections: int) -> tuple[Ints, Ints]:
    """Return the section, from 1 on, of each peg in order on both banks.

    Parameters
    ----------
    left, right : float array
        The pegs' scores, downstream.
    sections : int
        At least 1; the pegs must allow it (``peg_choice.splits_of``).

    Examples
    --------
    Five pegs in two sections: 3 + 2 gives means 0.5 and 0.5, 2 + 3 would not.

    >>> one, _ = split_sections(np.array([0.9, 0.3, 0.3, 0.4, 0.6]), np.empty(0), 2)
    >>> one.tolist()
    [1, 1, 1, 2, 2]
    """
    size = (len(left) + len(right)) // sections
    best, found = (-np.inf, -np.inf), None
    for on_left in range(sections + 1):
        sides = (_Side(left, on_left, size), _Side(right, sections - on_left, size))
        if not all(side.fits for side in sides):
            continue
        low, high = _evenest(sides)
        if (low, low - high) > best:
            best = (low, low - high)
            found = [_path(side, low, high) or [] for side in sides]
    if found is None:
        message = (
            f"{len(left)} and {len(right)} pegs do not make {sections} even "
            "sections, each on one bank; choose another number"
        )
        raise LayoutRefused(message)
    one, other = (np.repeat(np.arange(len(path)), path) + 1 for path in found)
    return one, other + len(found[0])


def _evenest(sides: Sequence[_Side]) -> tuple[float, float]:
    """Return the best poorest mean and, with it, the least richest mean."""
    means = np.unique(np.concatenate([_means(side) for side in sides]))

    def fits(low: float, high: float) -> bool:
        return all(_path(side, low, high) is not None for side in sides)

    low = _last(means, lambda mean: fits(mean, np.inf))
    high = _last(means[means >= low][::-1], lambda mean: fits(low, mean))
    return low, high


def _means(side: _Side) -> Floats:
    """Return the mean of every run of pegs that could be a section."""
    total = np.concatenate([[0.0], np.cumsum(side.values)])
    found = [
        (total[size:] - total[:-size]) / size
        for size in (side.size, side.size + 1)
        if 0 < size <= len(side.values)
    ]
    return np.concatenate([*found, np.empty(0)])


def _path(side: _Side, low: float, high: float) -> list[int] | None:
    """Return the sections' sizes in order, every mean within the ends, or None."""
    total = np.concatenate([[0.0], np.cumsum(side.values)])
    ways: dict[int, list[int]] = {0: []}
    for done in range(side.sections):
        onward: dict[int, list[int]] = {}
        for longer, sizes in ways.items():
            start = done * side.size + longer
            for size in (side.size, side.size + 1):
                end, more = start + size, longer + size - side.size
                if more > side.longer or more in onward:
                    continue
                mean = (total[end] - total[start]) / size
                if low - ROUNDING <= mean <= high + ROUNDING:
                    onward[more] = [*sizes, size]
        ways = onward
    return ways.get(side.longer)
