"""From returns to a judged ranker: what ``pegscore train`` does for each species."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from layers.pipeline import quiet
from layers.raster import replacing
from pegscore.catches import peg_effort, tellable
from pegscore.covered_water import covered_water
from pegscore.evaluation import JOINT, SCHEMES, compare, fit_ranker
from pegscore.folds import joint_cuts
from pegscore.ranker import PegRanker
from pegscore.ranker_file import RANKER_FILE
from pegscore.record import versions
from pegscore.returns import age_weight
from pegscore.screen import plain
from pegscore.trained import Trained, keep
from pegscore.visit_water import at_own_level, level_tables, training_visits
from pegscore.water_table import FEATURES

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    import pandas as pd
    from numpy.typing import NDArray

    from pegscore.evaluation import Comparison
    from pegscore.returns import Visits
    from pegscore.workflow import Run

    Values = NDArray[np.float64]

FEWEST_VISITS, FEWEST_POSITIVE, FEWEST_PEGS = 60, 30, 15
"""Below any of these nothing is fitted to a species; our proposal."""

MOST_INFLATION = 1.6
"""Errors are never multiplied by more; our proposal.

Few returns a block overstate it: 2.2 was found for 1.5 on simulated clubs of 200.
"""

CONDITIONS = ("water_c", "water_c_squared", "level_m")
GROUPS = ("angler", "aim", "month", "method")
MEAN_WATER_C = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one species.

    ``tests`` are those that decide, in the order of ``SCHEMES``, and after them
    ``JOINT`` where it can be made. ``trained`` is None where the preferences stay, and
    ``reasons`` say why, a sentence each without its full stop.
    """

    species: str
    visits: int
    positive: int
    tests: tuple[Comparison, ...]
    trained: Trained | None
    reasons: tuple[str, ...]

    def as_record(self, *, short: bool = False) -> dict[str, Any]:
        """Return plain values, as ``ranker.json`` holds them; short: no arrays."""
        told: dict[str, Any] = {
            "visits": self.visits,
            "positive_visits": self.positive,
            "accepted": self.trained is not None,
            "reason": ". ".join(self.reasons),
            "tests": {test.scheme: _test_record(test) for test in self.tests},
        }
        if not short:
            told["ranker"] = self.trained.as_record() if self.trained else None
        return told


def new_ranker() -> PegRanker:
    """Return the ranker that is trained, not yet fitted."""
    return PegRanker(
        prior="log_prior",
        features=FEATURES,
        conditions=CONDITIONS,
        peg="peg",
        groups=GROUPS,
        chainage="chainage_m",
        tol=1e-3,
    )


def train_run(
    run: Run, names: Sequence[str], *, progress: Callable[[str], None] = quiet
) -> dict[str, Outcome]:
    """Train and judge a ranker for each species and write ``ranker.json``.

    Raises
    ------
    ReturnsRefused
        If the survey has no returns.
    """
    visits = training_visits(run)
    for note in visits.notes:
        progress(note)
    outcomes = {}
    for name in names:
        progress(f"training on {run.species[name].title.lower()}")
        outcomes[name] = train_species(run, visits, name)
    write_outcomes(run.out / RANKER_FILE, run, list(outcomes.values()))
    return outcomes


def train_species(run: Run, visits: Visits, name: str) -> Outcome:
    """Fit and judge one species' ranker on a run's returns."""
    table = training_table(run, visits, name)
    positive = int((table["fish"] > 0).sum())
    counted: dict[str, Any] = {
        "species": name,
        "visits": len(table),
        "positive": positive,
    }
    short = _too_little(table, positive)
    if short:
        return Outcome(**counted, tests=(), trained=None, reasons=(short,))
    weight = age_weight(table["date"], today=table["date"].max().date())
    tests = tuple(
        compare(new_ranker(), table, scheme=scheme, weight=weight) for scheme in SCHEMES
    )
    return Outcome(
        **counted,
        tests=(*tests, *_joint(table, weight)),
        trained=_kept(table, weight, visits, *tests),
        reasons=(*(test.sentence() for test in tests), *_declined(*tests)),
    )


def _declined(new: Comparison, fished: Comparison) -> tuple[str, ...]:
    """Say why nothing is kept although the water's lesson passed its test."""
    if fished.accepted or not new.accepted:
        return ()
    return ("Nothing is kept unless it proves itself on fished pegs",)


def _joint(table: pd.DataFrame, weight: Values) -> tuple[Comparison, ...]:
    """Test on stretch and season at once, where the returns hold two of each."""
    if not joint_cuts(table):
        return ()
    rules = ("preferences", "depth alone", "Poisson regression")
    ranker = new_ranker()
    return (compare(ranker, table, scheme=JOINT, weight=weight, baselines=rules),)


def _kept(
    table: pd.DataFrame,
    weight: Values,
    visits: Visits,
    new: Comparison,
    fished: Comparison,
) -> Trained | None:
    """Fit to all returns and keep it, if it proved itself on fished pegs."""
    if not fished.accepted:
        return None
    effort = peg_effort(visits)
    told = effort.loc[tellable(effort), "visits"]
    return keep(
        fit_ranker(new_ranker(), table, weight),
        inflation=inflations(new, fished),
        for_fished=True,
        new_share=new.share,
        records={str(peg): int(count) for peg, count in told.items()},
        water=covered_water(table),
    )


def inflations(new: Comparison, fished: Comparison) -> tuple[float, float]:
    """Return what to multiply the errors of new and of fished pegs by.

    Each by its own test: on invented clubs new pegs' errors, which hold the whole
    spread of the pegs, were nearer the truth than fished ones'.
    """
    return (
        min(new.inflation, MOST_INFLATION),
        min(fished.inflation, MOST_INFLATION),
    )


def training_table(run: Run, visits: Visits, name: str) -> pd.DataFrame:
    """Return one row a visit with the peg's water, the day and the fish of a species.

    Visits to pegs whose water is unknown are left out. The water is that of the
    visit's own level (``pegscore.visit_water``); what a level does to all pegs alike
    is a condition.
    """
    day = visits.table
    rows = day.assign(
        fish=visits.caught(name),
        aim=visits.aim(name),
        month=day["date"].dt.month.astype(str),
        water_c_squared=(day["water_c"] - MEAN_WATER_C) ** 2,
    )
    usual_m = run.survey.river.gauge.level_m
    joined = at_own_level(rows, level_tables(run, name), usual_m=usual_m)
    return joined[joined["log_prior"].notna()].reset_index(drop=True)


def write_outcomes(path: Path, run: Run, outcomes: Sequence[Outcome]) -> Path:
    """Write ``ranker.json``: what was fitted, on what, and how it was judged."""
    told = {
        "river": run.survey.river.name,
        "level_m": run.survey.river.gauge.level_m,
        "inputs": dict(run.survey.hashes),
        "versions": versions(),
        "species": {outcome.species: outcome.as_record() for outcome in outcomes},
    }
    with replacing(path) as temporary:
        text = json.dumps(plain(told), ensure_ascii=False, allow_nan=False)
        temporary.write_text(text + "\n", encoding="utf-8")
    return path


def _too_little(table: pd.DataFrame, positive: int) -> str:
    pegs = table["peg"].nunique()
    if len(table) < FEWEST_VISITS:
        return f"{len(table)} visits; {FEWEST_VISITS} are needed"
    if positive < FEWEST_POSITIVE:
        return f"{positive} visits with fish; {FEWEST_POSITIVE} are needed"
    if pegs < FEWEST_PEGS:
        return f"{pegs} pegs with returns; {FEWEST_PEGS} are needed"
    if not (table["fish"] == 0).any():
        return "no blank was handed in; without blanks no rate can be told"
    return ""


def _test_record(test: Comparison) -> Mapping[str, Any]:
    table = test.table.replace({np.nan: None})
    return {
        "judged": test.judged,
        "accepted": test.accepted,
        "log_score": test.log_score,
        "coverage": test.coverage,
        "inflation": test.inflation,
        "rules": {str(name): dict(row) for name, row in table.iterrows()},
    }
