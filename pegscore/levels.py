"""How far a level of the gauge board lies from those at which anything was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.measured import MeasuredLevels, beyond_measured

if TYPE_CHECKING:
    from collections.abc import Iterable

    from layers.river import Survey


def level_caution(survey: Survey, level_m: float) -> str:
    """Say that a level lies outside all that was measured; empty if it does not."""
    return beyond_measured(level_m, MeasuredLevels.of(survey))


def level_cautions(survey: Survey, levels_m: Iterable[float]) -> dict[float, str]:
    """Return, of several levels, the sentence of each that lies outside."""
    told = {float(level_m): level_caution(survey, level_m) for level_m in levels_m}
    return {level_m: text for level_m, text in told.items() if text}
