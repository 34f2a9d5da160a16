"""What a measurement is worth to a decision, from draws of what may be true.

The decision is which few pegs to choose. Without another measurement one chooses
those of the best expected score; with it, those that are best given what was found.
The difference, averaged over what may be found, is the worth.

References
----------
Expected value of sample information by regression of the draws on what would be
measured: Strong, Oakley, Brennan & Breeze 2015, Medical Decision Making 35:570-583
(from memory), here with a straight line, which is exact for normal draws.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def chosen_mean(scores: Floats, top: int) -> Floats:
    """Return the mean of the ``top`` best scores along the last axis.

    Examples
    --------
    >>> chosen_mean(np.array([[1.0, 5.0, 3.0]]), 2).tolist()
    [4.0]
    """
    count = scores.shape[-1]
    top = min(top, count)
    best = np.partition(scores, count - top, axis=-1)[..., count - top :]
    return np.asarray(best.mean(axis=-1))


def slopes(drawn: Floats, seen: Floats, near: NDArray[np.bool_]) -> Floats:
    """Return how each score moves with each measurement, (site, peg), 0 if not near.

    Parameters
    ----------
    drawn : array (draw, peg)
        Scores less their means.
    seen : array (draw, site)
        What would be measured, less its mean.
    near : bool array (site, peg)
        Where any dependence is more than the chance of few draws.
    """
    power = np.maximum((seen**2).sum(axis=0), 1e-300)
    return np.where(near, (seen.T @ drawn) / power[:, None], 0.0)


class Plan:
    """Sites picked one after another, each for what it adds to those before.

    Parameters
    ----------
    drawn : array (decision, draw, peg)
        Scores under each draw; a decision is one species' choice of pegs.
    seen : array (draw, site)
        What would be measured at each site under each draw, noise included.
    near : bool array (site, peg)
        Which pegs a site can tell of.
    top : int
        How many pegs a decision chooses.
    """

    def __init__(
        self, drawn: Floats, seen: Floats, near: NDArray[np.bool_], *, top: int
    ) -> None:
        self.top, self.near = top, near
        self.known = np.repeat(drawn.mean(axis=1, keepdims=True), drawn.shape[1], 1)
        self.left = drawn - drawn.mean(axis=1, keepdims=True)
        self.seen = seen - seen.mean(axis=0)

    def gain(self, site: int) -> float:
        """Return what a site would add to the mean score of the chosen pegs."""
        told = self.seen[:, [site]]
        lines = np.stack(
            [slopes(left, told, self.near[[site]])[0] for left in self.left]
        )
        if not lines.any():
            return 0.0
        after = self.known + told * lines[:, None, :]
        return float(chosen_mean(after, self.top).mean() - self._base())

    def pick(self, site: int) -> None:
        """Take a site into the plan: what it tells is known from here on."""
        told = self.seen[:, site]
        for place in range(len(self.left)):
            line = slopes(self.left[place], told[:, None], self.near[[site]])
            self.known[place] += told[:, None] * line
            self.left[place] -= told[:, None] * line
        power = max(float(told @ told), 1e-300)
        self.seen = self.seen - np.outer(told, (told @ self.seen) / power)

    def moved(self, site: int) -> Floats:
        """Return how far each peg's score moves with a site in any decision, (peg,)."""
        told = self.seen[:, [site]]
        lines = [slopes(left, told, self.near[[site]])[0] for left in self.left]
        return np.asarray(np.abs(lines).max(axis=0) * told.std())

    def _base(self) -> float:
        """Return the mean score of the pegs chosen with what is known by now."""
        return float(chosen_mean(self.known, self.top).mean())
