"""Random fields of what the survey got wrong: smooth along the river and across it.

Errors between soundings are not independent from cell to cell. A field is drawn on a
lattice of stations along the river and lanes across it, with a correlation that falls
exponentially with the distance along and with the distance across. Along the river
such a field is a first-order autoregression, so that its cost grows with the river's
length and no faster.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorLattice:
    """Nodes in channel coordinates.

    Parameters
    ----------
    step_m : float
        Distance between stations along the river.
    stations : int
    lanes_m : float array
        Offset of each lane from the axis, ascending.
    """

    step_m: float
    stations: int
    lanes_m: Floats

    @classmethod
    def over(
        cls, length_m: float, half_width_m: float, *, step_m: float, lane_m: float
    ) -> ErrorLattice:
        """Lay a lattice over a river of some length and half its greatest width."""
        beside = int(np.ceil(half_width_m / lane_m))
        return cls(
            step_m=step_m,
            stations=int(np.ceil(length_m / step_m)) + 1,
            lanes_m=np.arange(-beside, beside + 1, dtype=np.float64) * lane_m,
        )

    @property
    def nodes(self) -> int:
        """Return how many nodes there are."""
        return self.stations * len(self.lanes_m)

    def nearest(self, chainage_m: ArrayLike, offset_m: ArrayLike) -> Ints:
        """Return the number of the node nearest to each place."""
        station = np.rint(np.asarray(chainage_m, np.float64) / self.step_m)
        station = np.clip(station, 0, self.stations - 1).astype(np.int64)
        between = (self.lanes_m[1:] + self.lanes_m[:-1]) / 2
        lane = np.searchsorted(between, np.asarray(offset_m, np.float64))
        return np.asarray(station * len(self.lanes_m) + lane, np.int64)

    def places(self) -> tuple[Floats, Floats]:
        """Return each node's chainage and offset, metres."""
        along = np.repeat(np.arange(self.stations) * self.step_m, len(self.lanes_m))
        return along, np.tile(self.lanes_m, self.stations)

    def draw(
        self, draws: int, *, along_m: float, across_m: float, rng: np.random.Generator
    ) -> Floats:
        """Return standard-normal fields, shape (draw, node).

        Parameters
        ----------
        draws : int
        along_m, across_m : float
            Distances at which the correlation falls to 1/e.
        rng : numpy.random.Generator

        Examples
        --------
        >>> lattice = ErrorLattice.over(100.0, 8.0, step_m=10.0, lane_m=4.0)
        >>> lattice.draw(3, along_m=20.0, across_m=5.0,
        ...              rng=np.random.default_rng(1)).shape
        (3, 55)
        """
        apart_m = np.abs(self.lanes_m[:, None] - self.lanes_m)
        root = np.linalg.cholesky(np.exp(-apart_m / across_m))
        fresh = rng.standard_normal((self.stations, draws, len(self.lanes_m))) @ root.T
        kept = float(np.exp(-self.step_m / along_m))
        field = np.empty_like(fresh)
        field[0] = fresh[0]
        for station in range(1, self.stations):
            new = np.sqrt(1 - kept**2) * fresh[station]
            field[station] = kept * field[station - 1] + new
        return np.ascontiguousarray(field.transpose(1, 0, 2)).reshape(draws, -1)
