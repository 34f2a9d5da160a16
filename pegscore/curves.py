"""Preference curves: straight lines between points that each bear a mark."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple, TypeGuard

import numpy as np

from pegscore.errors import PegError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

MARKS = {
    "S": "seen in the named source",
    "M": "from memory of the named work, not opened again",
    "C": "common practice, no source",
    "P": "our own proposal of the curve's shape, no source",
    "club": "the club's own",
}
"""What the mark on a point says about its origin, strongest first."""


class CurvePoint(NamedTuple):
    """One point of a curve: where, how suitable (0 to 1), and on what evidence."""

    x: float
    y: float
    mark: str


@dataclass(frozen=True, slots=True)
class Curve:
    """Suitability by one quantity, piecewise linear, constant beyond its ends.

    The published five-point form (physical limits 0, safety limits 0.5, optimum 1)
    is one such curve (Hyra 1978, Instream Flow Information Paper 6, p. 19).

    Parameters
    ----------
    points : tuple of CurvePoint
        Strictly rising in ``x``; ``y`` in [0, 1].
    sources : tuple of str
        Keys of ``data/sources.toml``; a club's own may be any text.

    Raises
    ------
    PegError
        If the points are fewer than two, do not rise, lie outside [0, 1] or bear
        an unknown mark.

    Examples
    --------
    >>> curve = Curve((CurvePoint(0.0, 0.0, "P"), CurvePoint(2.0, 1.0, "M")))
    >>> curve([-1.0, 1.0, 5.0, float("nan")])
    array([0. , 0.5, 1. , nan])
    """

    points: tuple[CurvePoint, ...]
    sources: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        faults = curve_faults(self.points)
        if faults:
            raise PegError("; ".join(faults))

    def __call__(self, values: ArrayLike) -> NDArray[np.float64]:
        """Return the suitability at each value; ``NaN`` stays ``NaN``."""
        x = [point.x for point in self.points]
        y = [point.y for point in self.points]
        suitability: NDArray[np.float64] = np.interp(
            np.asarray(values, np.float64), x, y
        )
        return suitability

    @property
    def preferred(self) -> tuple[float, float]:
        """The range of the quantity where the curve stands at its highest."""
        best = max(point.y for point in self.points)
        at_best = [point.x for point in self.points if point.y == best]
        return at_best[0], at_best[-1]

    @property
    def marks(self) -> frozenset[str]:
        """The marks its points bear."""
        return frozenset(point.mark for point in self.points)


def curve_faults(points: Sequence[Sequence[object]]) -> list[str]:
    """Return what is wrong with the points of a curve, in words; empty if nothing.

    Examples
    --------
    >>> curve_faults([[0.5, 1.0, "S"], [0.4, 1.0, "S"]])
    ['x does not rise from 0.5 to 0.4; sort by x']
    >>> curve_faults([[0.5, 1.2, "S"], [0.6, 1.0, "S"]])
    ['suitability 1.2 lies outside 0 to 1; give a share of one']
    """
    faults = []
    if len(points) < 2:  # noqa: PLR2004 - a line has two ends
        faults.append(f"{len(points)} points; a curve needs at least two")
    for point in points:
        faults += _point_faults(point)
    if not faults:
        for (before, *_), (after, *_) in pairwise(points):
            if float(str(after)) <= float(str(before)):
                faults.append(f"x does not rise from {before} to {after}; sort by x")
    return faults


def _point_faults(point: Sequence[object]) -> list[str]:
    if len(point) not in (2, 3):
        return [f"point {list(point)} is not [x, suitability, mark]; write it so"]
    x, y, mark = (*point, "club")[:3]
    faults = []
    if not is_number(x):
        faults.append(f"x is {x!r}; give a number")
    if not is_number(y) or not 0 <= float(str(y)) <= 1:
        faults.append(f"suitability {y!r} lies outside 0 to 1; give a share of one")
    if not isinstance(mark, str) or mark not in MARKS:
        faults.append(f"mark {mark!r} is not one of {', '.join(MARKS)}; use one")
    return faults


def is_number(value: object) -> TypeGuard[float]:
    """Say whether a value is a finite number; true and false are none.

    Examples
    --------
    >>> is_number(1), is_number(True), is_number(float("nan")), is_number(10**400)
    (True, False, False, False)
    """
    return (
        isinstance(value, (int, float))
        and not isinstance(value, bool)
        and abs(value) <= sys.float_info.max  # neither nan nor inf, nor past a float
    )
