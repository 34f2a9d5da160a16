"""Settle a balance on a long narrow mesh: Newton's steps, cautious at first.

Each step is a linear solve over a band as wide as a few sections, so time and
memory grow with the length of the river. Time steps that lengthen while the balance
improves (pseudo-transient continuation, Kelley and Keyes 1998, SIAM J. Numer.
Anal. 35, from memory) lead it there from afar.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import LinAlgError, solve_banded

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Places = NDArray[np.int64]
    Balance = Callable[[Array], tuple[Array, Array]]

ABOVE, BELOW, ASIDE = 3, 2, 3
"""A balance hears of so many sections above and below, and nodes to either side."""
STEPS = 60
FIRST_STEP = 0.15
"""In times that water takes from section to section."""
LONGER, SHORTER = 2.0, 0.25
LEAST_STEP = 0.004
MOST_STEP = 1000.0
SETTLED_STEP = 15.0
SETTLED = 2e-4
"""No value moves by more than this share of the river's flow in a long step."""
MOST_MOVE = 0.3
NUDGE = 1e-6
WORSE, SLOWER = 2.0, 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    """Where nudged values show, for a mesh of unknowns (sections, nodes)."""

    shape: tuple[int, int]

    @property
    def above(self) -> int:
        return ABOVE * self.shape[1] + ASIDE

    @property
    def below(self) -> int:
        return BELOW * self.shape[1] + ASIDE

    def nudges(self) -> Iterator[tuple[tuple[slice, slice], Places]]:
        """Yield sets of unknowns so far apart that no balance hears of two."""
        long, wide = ABOVE + BELOW + 1, 2 * ASIDE + 1
        for first in range(min(long, self.shape[0])):
            for second in range(min(wide, self.shape[1])):
                places = slice(first, None, long), slice(second, None, wide)
                yield places, self._owner(first, second, long, wide)

    def _owner(self, first: int, second: int, long: int, wide: int) -> Places:
        """Return, by balance, the number of the nudged unknown; -1 if none."""
        section, node = np.arange(self.shape[0]), np.arange(self.shape[1])
        heard = first + long * np.floor_divide(section - first + BELOW, long)
        aside = second + wide * np.floor_divide(node - second + ASIDE, wide)
        known = (heard >= 0) & (heard < section.size)
        near = (aside >= 0) & (aside < node.size)
        number = heard[:, None] * node.size + aside
        return np.where(known[:, None] & near, number, -1).ravel()


def settle(balance: Balance, start: Array, *, second: float) -> Array | None:
    """Return the state at which nothing is missing; ``None`` if none was reached.

    Parameters
    ----------
    balance : callable
        Returns what is missing, and what is stored (linear in the state), at all
        but the first section and the banks.
    start : array of float, shape (sections, nodes + 1)
        From 0 at one bank to 1 at the other; both and the first section are kept.
    second : float
        The time water takes from section to section.
    """
    state, step = start.copy(), FIRST_STEP
    missing, stored = balance(state)
    band = _Band(shape=missing.shape)
    reached = _size(missing)
    trend = reached
    for _ in range(STEPS):
        move = _move(balance, state, (missing, stored), band, step * second)
        if move is None:
            return None
        most = float(np.abs(move).max())
        tried = state.copy()
        tried[1:, 1:-1] += move * min(1.0, MOST_MOVE / max(most, NUDGE))
        after, kept = balance(tried)
        if not _size(after) <= WORSE * reached:
            step *= SHORTER
            if step < LEAST_STEP:
                return None
            continue
        state, missing, stored, reached = tried, after, kept, _size(after)
        if most < SETTLED and step > SETTLED_STEP:
            return state
        if reached < SLOWER * trend:
            step = min(step * LONGER, MOST_STEP)
        trend = reached
    return None


def _move(
    balance: Balance,
    state: Array,
    now: tuple[Array, Array],
    band: _Band,
    step_s: float,
) -> Array | None:
    """Return one step's change of all unknowns; ``None`` if it cannot be told."""
    missing, stored = now
    count = missing.size
    matrix = np.zeros((band.above + band.below + 1, count))
    row = np.arange(count)
    for places, owner in band.nudges():
        nudged = state.copy()
        nudged[1:, 1:-1][places] += NUDGE
        after, kept = balance(nudged)
        change = (after - missing + (kept - stored) / step_s).ravel() / NUDGE
        heard = owner >= 0
        column = owner[heard]
        matrix[band.below + row[heard] - column, column] = change[heard]
    bands = band.above, band.below
    try:
        found = solve_banded(bands, matrix, -missing.ravel(), check_finite=False)
    except LinAlgError:
        return None
    move: Array = found.reshape(missing.shape)
    return move if np.isfinite(move).all() else None


def _size(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))
