"""How far a level of the gauge board lies from those at which anything was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from layers.river import Survey

NEAR_M = 0.05
"""Levels nearer than this count as measured; our proposal, a board's own ripple."""


def measured_levels_m(survey: Survey) -> tuple[float, float]:
    """Return the lowest and highest level with a sounding, a speed or a gauging.

    The river's normal level, to which the water's outline belongs, counts too.
    """
    levels = [survey.river.gauge.level_m]
    for table in (survey.soundings, survey.speeds, survey.flows):
        if table is not None and "level_m" in table:
            values = table["level_m"].to_numpy(dtype=float)
            levels.extend(values[np.isfinite(values)])
    return float(min(levels)), float(max(levels))


def level_caution(survey: Survey, level_m: float) -> str:
    """Say that a level lies outside all that was measured; empty if it does not."""
    low_m, high_m = measured_levels_m(survey)
    if low_m - NEAR_M <= level_m <= high_m + NEAR_M:
        return ""
    side = "above" if level_m > high_m else "below"
    caution = (
        f"The board at {level_m:.2f} m is {side} every level measured here "
        f"({low_m:.2f} to {high_m:.2f} m): depth and pace are stretched beyond what "
        "is known."
    )
    if level_m > high_m:
        caution += " High water makes banks and pegs dangerous."
    return caution
