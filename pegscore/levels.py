"""How far a level of the gauge board lies from those at which anything was measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from layers.measured import MeasuredLevels, beyond_measured
from layers.pipeline import quiet
from pegscore.conditions import is_flood

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from layers.river import Survey
    from pegscore.workflow import Run


def level_caution(survey: Survey, level_m: float) -> str:
    """Say that a level lies outside all that was measured; empty if it does not."""
    return beyond_measured(level_m, MeasuredLevels.of(survey))


def level_cautions(survey: Survey, levels_m: Iterable[float]) -> dict[float, str]:
    """Return, of several levels, the sentence of each that lies outside."""
    told = {float(level_m): level_caution(survey, level_m) for level_m in levels_m}
    return {level_m: text for level_m, text in told.items() if text}


def above_measured_m(survey: Survey, level_m: float) -> float:
    """Return how far a level stands above every level measured; 0 if it does not."""
    return max(0.0, level_m - MeasuredLevels.of(survey).all_m[1])


def without_floods(run: Run, progress: Callable[[str], None] = quiet) -> Run:
    """Return the run without the levels that ``rank`` would refuse as a flood.

    Such a level may be there because somebody once asked about it, or mistyped it;
    what is passed on must not show scores at it. The river's own level stays.
    """
    own_m = run.survey.river.gauge.level_m
    floods = [
        level_m
        for level_m in run.stack.levels_m
        if is_flood(above_measured_m(run.survey, level_m)) and level_m != own_m
    ]
    if not floods:
        return run
    told = ", ".join(f"{level_m:.2f} m" for level_m in floods)
    progress(f"left out, a flood above anything measured: level {told}")
    kept = {m: held for m, held in run.stack.by_level.items() if m not in floods}
    return replace(run, stack=replace(run.stack, by_level=kept))
