"""The two banks as rulers: metres along the water's edge, growing downstream.

Islands have no ruler: they are reached by boat or by wading, and no plan puts a new
peg there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from pegscore.pegs import bank_lines

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel

    Floats = NDArray[np.float64]
    Shapes = NDArray[np.object_]

BANKS = ("left", "right")
"""As seen facing downstream."""


@dataclass(frozen=True, slots=True)
class BankRuler:
    """One bank as lines drawn downstream, one after the other.

    Parameters
    ----------
    lines : array of LineString
        The water's edge; more than one where the outline was cut or runs across
        the axis.
    start_m : float64 array
        The reading at the start of each; a gap counts with its straight length.
    """

    lines: Shapes
    start_m: Floats

    @property
    def length_m(self) -> float:
        """The reading at the lower end."""
        return float(self.start_m[-1] + self.lines[-1].length)

    def read(self, easting: Floats, northing: Floats) -> Floats:
        """Return the reading, metres, of the bank's point nearest to each place."""
        points = shapely.points(np.stack([easting, northing], axis=-1))
        away = np.stack([shapely.distance(line, points) for line in self.lines])
        nearest = np.argmin(away, axis=0)
        along_m = shapely.line_locate_point(self.lines[nearest], points)
        return np.asarray(self.start_m[nearest] + along_m, np.float64)

    def marks(self, step_m: float) -> tuple[Floats, Floats]:
        """Return the places of marks ``step_m`` apart, half a step off each end.

        Returns
        -------
        coordinates : float64 array (n, 2)
            Easting and northing, metres.
        bank_m : float64 array (n,)
            Their readings, ascending.
        """
        lengths = shapely.length(self.lines)
        along = [np.arange(step_m / 2, length, step_m) for length in lengths]
        line = np.repeat(np.arange(len(along)), [len(each) for each in along])
        along_m = np.concatenate([*along, np.empty(0)])
        points = shapely.line_interpolate_point(self.lines[line], along_m)
        return shapely.get_coordinates(points), self.start_m[line] + along_m


def bank_rulers(channel: Channel) -> dict[str, BankRuler]:
    """Return the ruler of each bank, ``left`` and ``right``.

    Examples
    --------
    >>> from shapely import LineString, box
    >>> from layers.channel import Channel
    >>> channel = Channel.fit(LineString([(0, 0), (100, 0)]), box(0, -10, 100, 10))
    >>> left = bank_rulers(channel)["left"]
    >>> round(float(left.read(np.array([30.0]), np.array([14.0]))[0]), 3)
    30.0
    >>> places, bank_m = left.marks(20.0)
    >>> bank_m.round(3).tolist(), places[0].round(3).tolist()
    ([10.0, 30.0, 50.0, 70.0, 90.0], [10.0, 10.0])
    """
    return {
        bank: _ruler(line, channel)
        for bank, line in zip(BANKS, bank_lines(channel), strict=True)
    }


def _ruler(bank: shapely.MultiLineString, channel: Channel) -> BankRuler:
    parts = shapely.get_parts(shapely.line_merge(bank))
    ends = [shapely.get_coordinates(shapely.get_point(parts, at)) for at in (0, -1)]
    upper_m, lower_m = (channel.to_channel(*end.T)[0] for end in ends)
    turned = np.where(lower_m < upper_m, shapely.reverse(parts), parts)
    order = np.argsort(np.minimum(upper_m, lower_m), kind="stable")
    lines = np.asarray(turned, object)[order]
    heads, tails = (shapely.get_point(lines, at) for at in (0, -1))
    gaps_m = shapely.distance(tails[:-1], heads[1:])
    steps_m = shapely.length(lines[:-1]) + gaps_m
    return BankRuler(lines, np.concatenate([[0.0], np.cumsum(steps_m)]))
