"""Where a quantity changes fastest across the stream, as lines down it.

The steps are Canny's (1986, A computational approach to edge detection, IEEE PAMI 8,
679-698, from memory): the gradient, only its maxima across the edge, two thresholds;
here across the channel and linked from section to section, so that lines follow the
stream.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage, signal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

PROMINENCE = 0.25
"""A maximum that does not stand out of its section by this share of itself is a ripple
on a slope, not an edge. [P]"""

SIDEWAYS = 0.5
"""A line may wander so many metres sideways a metre down the river, and a node. [P]"""

GAP_M = 4.0
"""A line goes on over so much water without a maximum. [P]"""

SMOOTHING_M = 3.0
"""Standard deviation of the Gaussian that takes the jitter out of a line. [P]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """What counts as an edge.

    Parameters
    ----------
    low, high : float
        A line is followed while its gradient is ``low`` or more and kept if it
        reaches ``high``.
    least_m : float
        Shorter lines are dropped, metres down the river.
    margin_m : float, default=0
        Nearer to the edge of what is known nothing counts.
    """

    low: float
    high: float
    least_m: float
    margin_m: float = 0.0


@dataclass(slots=True, eq=False)
class Ridge:
    """A line of maxima, by section downstream.

    Parameters
    ----------
    section : list of int
        Growing; a few may be missing.
    node : list of float
        Where in each section, in nodes from the right.
    strength : list of float
        The size of the gradient there.
    """

    section: list[int] = field(default_factory=list)
    node: list[float] = field(default_factory=list)
    strength: list[float] = field(default_factory=list)

    def add(self, section: int, node: float, strength: float) -> None:
        """Go on downstream."""
        self.section.append(section)
        self.node.append(node)
        self.strength.append(strength)

    def smooth_node(self, sigma: float) -> Array:
        """Return its places with the jitter taken out."""
        found: Array = ndimage.gaussian_filter1d(
            np.array(self.node), sigma, mode="nearest"
        )
        return found


def lateral_gradient(values: Array, step_m: float) -> Array:
    """Return the change to the left a metre, shape as ``values`` (sections, nodes).

    Central differences; at the edge of what is known it is ``NaN``, for there the
    water ends, not a slope.
    """
    gradient = np.full(values.shape, np.nan)
    gradient[:, 1:-1] = (values[:, 2:] - values[:, :-2]) / (2 * step_m)
    return gradient


def filled_to_edge(gradient: Array, values: Array, step_m: float) -> Array:
    """Return the gradient with one-sided differences where only they are known."""
    change = np.diff(values, axis=1) / step_m
    none = np.full((len(values), 1), np.nan)
    for side in (np.hstack([change, none]), np.hstack([none, change])):
        gradient = np.where(np.isfinite(gradient), gradient, side)
    return gradient


def find_ridges(gradient: Array, edges: Edges, *, step_m: float) -> list[Ridge]:
    """Return the lines along which a lateral gradient is greatest.

    Rises and falls to the left are linked apart, so that the two sides of a tongue of
    fast water make two lines. A maximum at the edge of what is known is none.

    Parameters
    ----------
    gradient : array of float, shape (sections, nodes)
        As ``lateral_gradient`` returns it; ``NaN`` is unknown.
    edges : Edges
        The thresholds.
    step_m : float
        Between sections and between nodes.
    """
    known = np.isfinite(gradient)
    nodes = max(0, round(edges.margin_m / step_m) - 1)
    counted = ndimage.binary_erosion(known, np.ones((1, 2 * nodes + 1), bool))
    found = []
    for sign in (1.0, -1.0):
        size = np.where(known, sign * gradient, -np.inf)
        peaks = [
            [top for top in _peaks(row, edges.low) if held[round(top[0])]]
            for row, held in zip(size, counted, strict=True)
        ]
        found.extend(_linked(peaks, step_m))
    return [
        ridge
        for ridge in found
        if (ridge.section[-1] - ridge.section[0]) * step_m >= edges.least_m
        and max(ridge.strength) >= edges.high
    ]


def _peaks(row: Array, low: float) -> list[tuple[float, float]]:
    """Return node and size of the maxima of one section."""
    held = np.where(np.isfinite(row), np.maximum(row, 0.0), 0.0)
    places, told = signal.find_peaks(held, height=low, prominence=0.0, plateau_size=1)
    found = []
    for number, place in enumerate(places):
        height = float(told["peak_heights"][number])
        first, last = told["left_edges"][number], told["right_edges"][number]
        open_sides = np.isfinite(row[first - 1]) and np.isfinite(row[last + 1])
        if open_sides and told["prominences"][number] >= PROMINENCE * height:
            middle = (first + last) / 2 if last > first else _finer(held, int(place))
            found.append((middle, height))
    return found


def _finer(row: Array, place: int) -> float:
    """Return the top of the parabola through a maximum and its two neighbours."""
    before, top, after = row[place - 1 : place + 2]
    bend = before - 2 * top + after
    return place + (0.5 * float((before - after) / bend) if bend < 0 else 0.0)


def _linked(peaks: Sequence[list[tuple[float, float]]], step_m: float) -> list[Ridge]:
    """Join the maxima of neighbouring sections, the nearest first."""
    done: list[Ridge] = []
    alive: list[Ridge] = []
    skip = 1 + int(GAP_M / step_m)
    for section, tops in enumerate(peaks):
        done += [ridge for ridge in alive if section - ridge.section[-1] > skip]
        alive = [ridge for ridge in alive if section - ridge.section[-1] <= skip]
        free = dict(enumerate(tops))
        for ridge, number in _pairs(alive, tops, section):
            if number in free and ridge.section[-1] < section:
                ridge.add(section, *free.pop(number))
        for top in free.values():
            alive.append(Ridge())
            alive[-1].add(section, *top)
    return done + alive


def _pairs(
    alive: list[Ridge], tops: list[tuple[float, float]], section: int
) -> list[tuple[Ridge, int]]:
    """Return which line could take which maximum, the nearest pairs first."""
    reach = [
        (abs(node - ridge.node[-1]), order, number)
        for order, ridge in enumerate(alive)
        for number, (node, _) in enumerate(tops)
        if abs(node - ridge.node[-1]) <= 1 + SIDEWAYS * (section - ridge.section[-1])
    ]
    return [(alive[order], number) for _, order, number in sorted(reach)]
