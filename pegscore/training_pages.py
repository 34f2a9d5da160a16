"""From a training run to its report: what each page shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.columns import POUND_KG
from pegscore.dependence import dependence
from pegscore.effort import effort, told_apart
from pegscore.prints.training_report import SpeciesPage, write_training_report
from pegscore.ranking import score_swims
from pegscore.visit_water import training_visits
from pegscore.weights import typical_weight

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    import pandas as pd

    from pegscore.training import Outcome
    from pegscore.workflow import Run

REPORT_FILE = "training.pdf"
SHOWN = ("depth_m", "speed_m_s")
"""The features of which a curve is published."""


def report_training(run: Run, outcomes: Mapping[str, Outcome]) -> Path | None:
    """Write the report of a training run beside ``ranker.json``.

    Returns
    -------
    Path or None
        None without returns.
    """
    if run.survey.returns is None:
        return None
    visits = training_visits(run)
    pages = [
        SpeciesPage(
            title=run.species[name].title,
            outcome=outcome,
            catches=told_apart(visits, name),
            curves=_curves(run, name, outcome),
            weighed=_weighed(run.survey.returns, name),
        )
        for name, outcome in outcomes.items()
        if outcome.positive > 0
    ]
    held = effort(visits, [str(peg) for peg in run.pegs.index])
    path = run.out / REPORT_FILE
    return write_training_report(path, run.survey.river.name, held, pages)


def _weighed(returns: pd.DataFrame, name: str) -> str:
    """Say what the typical fish weighs, round weights taken as ranges."""
    found = typical_weight(returns, name)
    if found is None:
        return ""
    low, median, high = (
        f"{kg:.2f} kg ({kg / POUND_KG:.1f} lb)"
        for kg in (found.low_kg, found.median_kg, found.high_kg)
    )
    return (
        f" The typical fish weighs {median}, 80 % interval {low} to {high}, from "
        f"{found.bags} weights of which {found.round} are round figures and count as "
        "ranges."
    )


def _curves(run: Run, name: str, outcome: Outcome) -> dict[str, pd.DataFrame]:
    """Return what was learnt over each feature, nothing where nothing was kept."""
    if outcome.trained is None:
        return {}
    species = run.species[name]
    scores = score_swims(run.stack, run.pegs, species, run.survey.river.gauge.level_m)
    found = {
        feature: dependence(outcome.trained, species, scores, feature)
        for feature in SHOWN
    }
    return {feature: curve for feature, curve in found.items() if len(curve)}
