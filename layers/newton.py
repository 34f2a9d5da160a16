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
from scipy.linalg import lapack

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Places = NDArray[np.int64]
    Balance = Callable[[Array], tuple[Array, Array]]

HEARD = {-2: 0, -1: 2, 0: 3, 1: 2, 2: 1, 3: 0}
"""By how many sections above: so many nodes to either side a balance hears of."""
COLOURS, COLOURS_ASIDE = 23, 5
"""Unknowns whose section and five times node leave the same over 23 are nudged at
once: the fewest, by trial, with which no balance hears of two."""
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
    """Where nudged values show, for a mesh of unknowns (sections, nodes).

    Unknowns of one colour lie so far apart that no balance hears of two. They are
    numbered upstream: the band is narrower below its diagonal so, where a solve
    costs most.

    Parameters
    ----------
    shape : tuple of int
        Sections and nodes.
    colour : array of int, shape (sections, nodes)
        From 0 to ``COLOURS - 1``.
    heard, placed : array of int, shape (entries,)
        Where each entry of the matrix stands in the flat changes (colour, balance),
        and where in the flat band (unknown, diagonal).
    """

    shape: tuple[int, int]
    colour: Places
    heard: Places
    placed: Places

    @classmethod
    def of(cls, shape: tuple[int, int]) -> _Band:
        """Lay out the band for a mesh."""
        section, node = np.indices(shape)
        colour = (section + COLOURS_ASIDE * node) % COLOURS
        bare = cls(shape=shape, colour=colour, heard=colour, placed=colour)
        entries = [
            bare._entries(on, left)
            for on, aside in HEARD.items()
            for left in range(-aside, aside + 1)
        ]
        heard, placed = (np.concatenate(part) for part in zip(*entries, strict=True))
        return cls(shape=shape, colour=colour, heard=heard, placed=placed)

    @property
    def count(self) -> int:
        """How many unknowns, and balances."""
        return self.shape[0] * self.shape[1]

    @property
    def below(self) -> int:
        """Diagonals below the main one."""
        return max(-on * self.shape[1] + aside for on, aside in HEARD.items())

    @property
    def above(self) -> int:
        """Diagonals above the main one."""
        return max(on * self.shape[1] + aside for on, aside in HEARD.items())

    @property
    def high(self) -> int:
        """Diagonals in all, with those that pivoting fills."""
        return 2 * self.below + self.above + 1

    def _entries(self, on: int, left: int) -> tuple[Places, Places]:
        """Return where balances hear of the unknown so far above and to the right."""
        section, node = np.indices(self.shape)
        section, node = section - on, node - left
        known = (section >= 0) & (section < self.shape[0])
        known &= (node >= 0) & (node < self.shape[1])
        row = np.arange(self.count).reshape(self.shape)[known]
        column = (section * self.shape[1] + node)[known]
        heard = self.colour[section[known], node[known]] * self.count + row
        return heard, self._place(self.count - 1 - row, self.count - 1 - column)

    def _place(self, row: Places, column: Places) -> Places:
        place: Places = column * self.high + self.below + self.above + row - column
        return place

    def solve(self, changes: Array, missing: Array) -> Array | None:
        """Return the unknowns' move that makes up what is missing; ``None`` if none."""
        band = np.zeros(self.count * self.high)
        band[self.placed] = changes.ravel()[self.heard]
        *_, found, failed = lapack.dgbsv(
            self.below,
            self.above,
            band.reshape(self.count, self.high).T,
            -missing.ravel()[::-1],
            overwrite_ab=True,
            overwrite_b=True,
        )
        if failed or not np.isfinite(found).all():
            return None
        move: Array = found[::-1].reshape(self.shape)
        return move


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
    band = _Band.of(missing.shape)
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
    before = missing + stored / step_s
    changes = np.empty((COLOURS, band.count))
    for colour in range(COLOURS):
        nudged = state.copy()
        nudged[1:, 1:-1][band.colour == colour] += NUDGE
        after, kept = balance(nudged)
        changes[colour] = ((after + kept / step_s - before) / NUDGE).ravel()
    return band.solve(changes, missing)


def _size(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))
