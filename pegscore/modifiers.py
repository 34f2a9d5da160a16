"""What light, cold and clarity do to a score: shown beside it, never inside it.

A species file lists modifiers under ``[[modifier]]``: when one holds (``light``,
``clarity``, ``water_below_c``, ``high_water``; all that are given must), and what it
does: a ``factor`` for every peg alike, ``points`` of a factor along the depth or the
pace (``by``), so that it tells pegs apart, or nothing but its ``note``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from pegscore.conditions import Conditions

    Values = NDArray[np.float64]

BY = ("depth_m", "speed_m_s")
"""The quantities along which a modifier may change."""

CLARITIES = ("clear", "tinged", "coloured")
"""How far one sees into the water, in the words of catch returns."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Modifier:
    """One thing that the day does to a species.

    Parameters
    ----------
    light, clarity : tuple of str
        Phases of ``pegscore.daylight`` and clarities it holds in; empty for any.
    water_below_c : float or None
        It holds in colder water only, °C.
    high_water : bool
        It holds above every level that was measured only.
    by : str
        ``depth_m`` or ``speed_m_s`` where ``points`` are given, else empty.
    points : tuple of (x, factor)
        Piecewise linear, constant beyond its ends; a single factor has one point.
    marks : str
        The evidence marks of its numbers, e.g. ``P``.
    note : str
        What to tell people.
    sources : tuple of str
        Keys of ``data/sources.toml``.
    """

    light: tuple[str, ...] = ()
    clarity: tuple[str, ...] = ()
    water_below_c: float | None = None
    high_water: bool = False
    by: str = ""
    points: tuple[tuple[float, float], ...] = ()
    marks: str = ""
    note: str = ""
    sources: tuple[str, ...] = ()

    def holds(self, conditions: Conditions) -> bool:
        """Say whether it holds; what was not told of the day holds nothing."""
        light, temp_c = conditions.light, conditions.water_temp_c
        return all(
            (
                not self.light or (light is not None and light.phase in self.light),
                not self.clarity or conditions.clarity in self.clarity,
                self.water_below_c is None
                or (temp_c is not None and temp_c < self.water_below_c),
                not self.high_water or conditions.high_water,
            )
        )

    @property
    def for_every_peg(self) -> float:
        """The factor of all pegs alike; 1 where it tells pegs apart or only tells."""
        return self.points[0][1] if self.points and not self.by else 1.0

    def at(self, water: Mapping[str, Values]) -> Values:
        """Return the factor at each cell; 1 where the quantity is unknown.

        Examples
        --------
        >>> slack = Modifier(by="speed_m_s", points=((0.0, 1.2), (0.1, 1.0)))
        >>> slack.at({"speed_m_s": np.array([0.05, 0.4, np.nan])})
        array([1.1, 1. , 1. ])
        """
        x, y = zip(*self.points, strict=True)
        found: Values = np.interp(water[self.by], x, y)
        return np.where(np.isnan(found), 1.0, found)


def read_modifiers(blocks: Sequence[Mapping[str, Any]]) -> tuple[Modifier, ...]:
    """Return the modifiers of a species file's blocks, checked before."""
    return tuple(_modifier(block) for block in blocks)


def _modifier(block: Mapping[str, Any]) -> Modifier:
    points, single = block.get("points", ()), block.get("factor")
    if single is not None:
        factor, *mark = single if isinstance(single, list) else [single]
        points = [[0.0, factor, *mark]]
    marks = sorted({str(point[2]) if len(point) > 2 else "club" for point in points})  # noqa: PLR2004 - x, factor, mark
    below_c = block.get("water_below_c")
    return Modifier(
        light=tuple(block.get("light", ())),
        clarity=tuple(block.get("clarity", ())),
        water_below_c=None if below_c is None else float(below_c),
        high_water=bool(block.get("high_water", False)),
        by=str(block.get("by", "")),
        points=tuple((float(x), float(y)) for x, y, *_ in points),
        marks=", ".join(marks),
        note=str(block.get("note", "")),
        sources=tuple(block.get("sources", ())),
    )


def holding(
    modifiers: Sequence[Modifier], conditions: Conditions
) -> tuple[Modifier, ...]:
    """Return the modifiers that hold today, in the order of the file."""
    return tuple(each for each in modifiers if each.holds(conditions))


def cell_factor(
    modifiers: Sequence[Modifier], water: Mapping[str, Values]
) -> Values | None:
    """Return the product of what tells cells apart; None if nothing does."""
    telling = [each for each in modifiers if each.by]
    if not telling:
        return None
    return np.asarray(np.prod([each.at(water) for each in telling], axis=0))
