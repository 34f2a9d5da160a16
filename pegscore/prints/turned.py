"""The world turned on to a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    Floats = NDArray[np.float64]


class Turned(NamedTuple):
    """The plan's own directions: right and up, seen from the peg, metres."""

    origin: tuple[float, float]
    right: tuple[float, float]
    up: tuple[float, float]

    def plan(self, points: Floats) -> Floats:
        """Return plan places, shape (n, 2), of world points."""
        moved = np.asarray(points, float) - self.origin
        turned: Floats = np.column_stack([moved @ self.right, moved @ self.up])
        return turned

    def world(self, right_m: Floats, up_m: Floats) -> tuple[Floats, Floats]:
        """Return eastings and northings of plan places."""
        return (
            self.origin[0] + right_m * self.right[0] + up_m * self.up[0],
            self.origin[1] + right_m * self.right[1] + up_m * self.up[1],
        )

    def shape(self, geometry: BaseGeometry) -> BaseGeometry:
        """Return a geometry turned on to the plan."""
        turned: BaseGeometry = shapely.transform(geometry, self.plan)
        return turned
