"""Points of the bed as plain arrays, ready to be interpolated."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Places(Protocol):
    """Anything with places in both frames, such as ``WetCells``; metres."""

    @property
    def easting(self) -> Array: ...  # noqa: D102
    @property
    def northing(self) -> Array: ...  # noqa: D102
    @property
    def chainage_m(self) -> Array: ...  # noqa: D102
    @property
    def offset_m(self) -> Array: ...  # noqa: D102


def in_frame(places: Places, stretch: float | None) -> Array:
    """Return places as an array of shape (n, 2), metres.

    Parameters
    ----------
    places : Places
        In both frames.
    stretch : float or None
        Distance along the river is divided by this; None gives easting and
        northing instead.
    """
    if stretch is None:
        return np.column_stack([places.easting, places.northing])
    return np.column_stack([places.chainage_m / stretch, places.offset_m])


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """Points of a bed, all arrays of shape (n,), metres.

    ``sd_m`` is the standard error of ``bed_m``.
    """

    easting: Array
    northing: Array
    chainage_m: Array
    offset_m: Array
    bed_m: Array
    sd_m: Array

    def __len__(self) -> int:
        """Return the number of points."""
        return len(self.bed_m)

    @classmethod
    def of(cls, points: pd.DataFrame) -> Samples:
        """Take the columns of that name from a table."""
        return cls(
            **{
                column.name: points[column.name].to_numpy(float)
                for column in fields(cls)
            }
        )

    def at(self, chosen: NDArray[np.bool_] | NDArray[np.int64]) -> Samples:
        """Return the chosen points."""
        return Samples(
            **{
                column.name: getattr(self, column.name)[chosen]
                for column in fields(self)
            }
        )

    def joined(self, other: Samples) -> Samples:
        """Return these points and then the others."""
        return Samples(
            **{
                column.name: np.concatenate(
                    [getattr(self, column.name), getattr(other, column.name)]
                )
                for column in fields(self)
            }
        )

    def thinned(self, side_m: float) -> Samples:
        """Average points of one square of the channel, in the order first met.

        A sounder that writes ten echoes a metre would otherwise fill every
        neighbourhood with one track. Averaging echoes of different places does
        not make a place better known, so ``sd_m`` is averaged and not reduced.
        """
        square = np.floor(np.column_stack([self.chainage_m, self.offset_m]) / side_m)
        _, first, member = np.unique(
            square, axis=0, return_index=True, return_inverse=True
        )
        count = np.bincount(member.ravel())
        order = np.argsort(first)
        return Samples(
            **{
                column.name: (
                    np.bincount(member.ravel(), getattr(self, column.name)) / count
                )[order]
                for column in fields(self)
            }
        )
