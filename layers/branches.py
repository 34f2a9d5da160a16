"""The ways the water takes through each section: round islands, into dead ends.

In every section the wet nodes form runs. A run that meets no water downstream, or
none upstream, is a dead end: a bay behind a bar, say. What flows is shared out
among the others so that it never changes along a way; where ways part, they
share it so that friction takes the same fall along each.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

TOUCH = 1
"""Runs of neighbouring sections also meet when this many nodes apart, corner-wise."""


@dataclass(slots=True, eq=False)
class Branch:
    """A run of wet nodes in one section.

    Parameters
    ----------
    section : int
        Its place along the river.
    first, last : int
        Its nodes are ``first`` to ``last - 1``.
    carried_m3_s : float
        Its conveyance.
    above, below : list of Branch
        The runs it meets in the sections upstream and downstream.
    share : float
        Its part of the river's flow; 0 in a dead end.
    """

    section: int
    first: int
    last: int
    carried_m3_s: float
    above: list[Branch] = field(default_factory=list, repr=False)
    below: list[Branch] = field(default_factory=list, repr=False)
    share: float = 0.0

    @property
    def nodes(self) -> slice:
        """Its nodes, as a slice of the section."""
        return slice(self.first, self.last)

    @property
    def carries_on(self) -> bool:
        """Whether it goes on downstream as one way of its own."""
        return len(self.below) == 1 and len(self.below[0].above) == 1

    def meets(self, other: Branch) -> bool:
        """Say whether it touches a run of a neighbouring section."""
        return self.first < other.last + TOUCH and other.first < self.last + TOUCH


def find_branches(wet: Mask, carried_m3_s: Array) -> list[list[Branch]]:
    """Return the flowing runs of every section, each with its share of the flow.

    Parameters
    ----------
    wet : array of bool, shape (sections, nodes)
        Sections are numbered downstream.
    carried_m3_s : array of float, shape (sections, nodes)
        Conveyance of each node.

    Returns
    -------
    list of list of Branch
        The shares of a section add up to 1; dead ends are left out; a section
        without water has none. Where no water meets the section above, the river
        begins anew.

    Examples
    --------
    An island in the middle section of three, with twice the water on one side:

    >>> wet = np.array([[True] * 4, [True, False, True, True], [True] * 4])
    >>> ways = find_branches(wet, np.where(wet, 1.0, 0.0))
    >>> [round(way.share, 3) for way in ways[1]]
    [0.333, 0.667]
    """
    sections = _runs(wet, carried_m3_s)
    sections = _through(sections)
    sections = _through(sections[::-1])[::-1]
    _join(sections)
    _share_out(sections, _resistance(sections))
    return sections


def _runs(wet: Mask, carried_m3_s: Array) -> list[list[Branch]]:
    padded = np.pad(wet, ((0, 0), (1, 1))).astype(np.int8)
    turn = np.diff(padded, axis=1)
    section, first = np.nonzero(turn == 1)
    last = np.nonzero(turn == -1)[1]
    total = np.pad(np.cumsum(carried_m3_s, axis=1), ((0, 0), (1, 0)))
    carried = total[section, last] - total[section, first]
    sections: list[list[Branch]] = [[] for _ in range(len(wet))]
    for at, start, stop, carries in zip(section, first, last, carried, strict=True):
        sections[at].append(Branch(int(at), int(start), int(stop), float(carries)))
    return sections


def _through(sections: list[list[Branch]]) -> list[list[Branch]]:
    """Keep the runs that meet kept ones of the section before; all if none does."""
    kept: list[list[Branch]] = []
    before: list[Branch] = []
    for runs in sections:
        joined = [run for run in runs if any(run.meets(other) for other in before)]
        before = joined or runs
        kept.append(before)
    return kept


def _join(sections: list[list[Branch]]) -> None:
    for above, below in pairwise(sections):
        for upper in above:
            for lower in below:
                if upper.meets(lower):
                    upper.below.append(lower)
                    lower.above.append(upper)


def _resistance(sections: list[list[Branch]]) -> dict[int, float]:
    """Return, by branch, the fall per squared flow until its way meets another."""
    fall: dict[int, float] = {}
    for runs in reversed(sections):
        for run in runs:
            onward = fall[id(run.below[0])] if run.carries_on else 0.0
            fall[id(run)] = run.carried_m3_s**-2 + onward
    return fall


def _share_out(sections: list[list[Branch]], fall: dict[int, float]) -> None:
    for runs in sections:
        sources = [run for run in runs if not run.above]
        if len(sources) == len(runs):
            _split(1.0, runs, fall)
            continue
        for parent in {id(up): up for run in runs for up in run.above}.values():
            _split(parent.share, parent.below, fall)
        total = sum(run.share for run in runs)
        for run in runs:
            run.share /= total


def _split(share: float, runs: list[Branch], fall: dict[int, float]) -> None:
    weights = [fall[id(run)] ** -0.5 for run in runs]
    for run, weight in zip(runs, weights, strict=True):
        run.share += share * weight / sum(weights)
