"""The levels of the gauge board at which anything was measured, and what lies beyond.

The one rule for every answer: notes of the layers, rankings and the map ask here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from layers.river import Survey

    Span = tuple[float, float]

NEAR_M = 0.05
"""Levels nearer than this count as measured; our proposal, a board's own ripple."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredLevels:
    """The lowest and highest board readings at which something was measured.

    Parameters
    ----------
    depth_m : tuple of float
        Of the soundings and of the river's normal level, to which the water's
        outline belongs.
    pace_m : tuple of float or None
        Of gaugings and of timed or metered speeds; None if there are none.
    """

    depth_m: Span
    pace_m: Span | None = None

    @classmethod
    def of(cls, survey: Survey) -> Self:
        """Read them off a survey; a speed without a level belongs to the normal one."""
        normal_m = survey.river.gauge.level_m
        speeds, flows = survey.speeds, survey.flows
        timed = [] if speeds is None else speeds["level_m"].fillna(normal_m).tolist()
        gauged = [] if flows is None else flows["level_m"].tolist()
        soundings = survey.soundings
        sounded = [] if soundings is None else soundings["level_m"].tolist()
        return cls(
            depth_m=_span([normal_m, *sounded]), pace_m=_span_of_any(timed + gauged)
        )

    @property
    def all_m(self) -> Span:
        """The lowest and highest of all."""
        return _span([*self.depth_m, *(self.pace_m or ())])


def beyond_measured(level_m: float, measured: MeasuredLevels) -> str:
    """Say that a level lies outside all that was measured; empty if it does not.

    Parameters
    ----------
    level_m : float
        A reading of the board, metres.
    measured : MeasuredLevels
        What the survey holds.

    Examples
    --------
    >>> measured = MeasuredLevels(depth_m=(0.4, 1.0), pace_m=(0.6, 0.7))
    >>> beyond_measured(0.65, measured)
    ''
    >>> beyond_measured(0.9, measured)
    'The board at 0.90 m is above every level at which pace was gauged or timed here
    (0.60 to 0.70 m): pace is stretched beyond what is known.'
    """
    if not _holds(measured.all_m, level_m):
        told = _told(level_m, measured.all_m, "measured", "depth and pace are")
        if level_m > measured.all_m[1]:
            told += " High water makes banks dangerous."
        return told
    if measured.pace_m and not _holds(measured.pace_m, level_m):
        return _told(
            level_m, measured.pace_m, "at which pace was gauged or timed", "pace is"
        )
    return ""


def _told(level_m: float, span_m: Span, done: str, what: str) -> str:
    side = "above" if level_m > span_m[1] else "below"
    return (
        f"The board at {level_m:.2f} m is {side} every level {done} here "
        f"({span_m[0]:.2f} to {span_m[1]:.2f} m): {what} stretched beyond what is "
        "known."
    )


def _holds(span_m: Span, level_m: float) -> bool:
    """Say whether a level lies in a span or near it; what is no number never does."""
    return span_m[0] - NEAR_M <= level_m <= span_m[1] + NEAR_M


def _span(levels_m: Iterable[float]) -> Span:
    known = [level for level in levels_m if np.isfinite(level)]
    return float(min(known)), float(max(known))


def _span_of_any(levels_m: list[float]) -> Span | None:
    return _span(levels_m) if np.isfinite(levels_m).any() else None
