"""The tubes of one way of the water through one section, and the fall they take.

What does not change from sweep to sweep of the march is kept here, and the fall
last found, which is where the next search for it begins.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ITERATIONS = 60
CLOSE = 1e-13


class Tubes:
    """The tubes of a run of wet nodes.

    Parameters
    ----------
    nodes : slice
        The run in its section.
    source : slice or array of int
        The wet nodes of the section above that its tubes can come from.
    shed : array of float, shape (nodes,)
        What friction on the way down divides the squared speed by.
    least : array of float, shape (nodes,)
        The least energy, 2 g m, that a tube is held to; above 0.
    area_m2 : array of float, shape (nodes,)
        What the flow passes through at each node.
    share : float
        The run's part of the river's flow.

    Attributes
    ----------
    lift : float
        2 g times the fall from the section above, as last found.
    stopped : array of bool, shape (nodes,)
        Tubes that were held to their least energy.

    Examples
    --------
    Of two tubes without friction one comes with more energy by 3; with a rise of 1
    they carry 1 and 2 through a square metre each:

    >>> tubes = Tubes(nodes=slice(0, 2), source=slice(0, 2), shed=np.ones(2),
    ...               least=np.full(2, 0.01), area_m2=np.ones(2), share=3.0)
    >>> tubes.carry(np.array([0.0, 3.0])).round(9).tolist(), round(tubes.lift, 9)
    ([1.0, 2.0], 1.0)
    """

    def __init__(
        self,
        *,
        nodes: slice,
        source: slice | NDArray[np.int64],
        shed: Array,
        least: Array,
        area_m2: Array,
        share: float,
    ) -> None:
        self.nodes, self.source, self.share = nodes, source, share
        self.least = least
        self.slowed = np.sqrt(shed)
        self.weight = area_m2 / self.slowed
        self.total = float(self.weight.sum())
        self.lift = np.nan
        self.stopped = np.zeros(least.shape, bool)

    def carry(self, head: Array) -> Array:
        """Return the speeds with which the run's share passes, and keep the lift.

        The lift x is that for which ``sum(weight * sqrt(max(head + x, least)))`` is
        the share. The sum never falls with x; Newton's steps are held within a
        bracket where they leave what is known of it.

        Parameters
        ----------
        head : array of float, shape (nodes,)
            Energy that each tube brings, 2 g m, above the surface here.
        """
        if np.isnan(self.lift):
            self.lift = (self.share / self.total) ** 2 - (
                float(self.weight @ head) / self.total
            )
        low, high = -np.inf, np.inf
        for _ in range(ITERATIONS):
            lifted = head + self.lift
            root = np.sqrt(np.maximum(lifted, self.least))
            missing = self.share - float(self.weight @ root)
            if abs(missing) <= CLOSE * self.share:
                break
            low, high = (self.lift, high) if missing > 0 else (low, self.lift)
            slope = float(self.weight @ ((lifted > self.least) / root)) / 2
            tried = self.lift + missing / slope if slope > 0 else np.nan
            if not low < tried < high:
                low, high = self._bracket(head, low, high)
                tried = (low + high) / 2
            self.lift = tried
        self.stopped = lifted <= self.least
        return root / self.slowed

    def _bracket(self, head: Array, low: float, high: float) -> tuple[float, float]:
        """Return bounds of the lift, no wider than those known."""
        short = self.least - head
        enough = (self.share / self.total) ** 2 - float(head.min())
        return max(low, float(short.min())), min(high, max(enough, float(short.max())))
