"""The committee's plan: which places get a peg, and how that compares with today.

The pool is every candidate of both banks and every present peg that a rule does not
forbid, so that a peg that stands well can stay. The plan with the greatest total
score is found exactly (``pegscore.peg_choice``); with sections, the most even one.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd

from layers.pipeline import quiet
from pegscore.candidates import STEP_M, bank_places, judged_seats
from pegscore.conflicts import facing, matrix_of, too_close
from pegscore.errors import LayoutRefused
from pegscore.fair_sections import even_window, split_sections
from pegscore.layout_rules import kept_rows, refuse_kept_conflicts, too_many
from pegscore.peg_choice import PegChoice, best_choice
from pegscore.pegs import place_pegs

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from pegscore.candidates import BankWishes, Candidates
    from pegscore.layout_rules import LayoutRules
    from pegscore.peg_choice import Chosen
    from pegscore.workflow import Run

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

CLOSED = "closed by the club"


class Pool(NamedTuple):
    """Places that a plan chooses from, down the left bank and then the right one.

    ``found.table`` has besides its columns ``peg`` (a present peg's name, else
    empty); ``worth`` are the scores that count, weighed over species and levels.
    """

    found: Candidates
    worth: Floats


class Plan(NamedTuple):
    """A plan: its table, the pool's rows it took, and how sure it is the best."""

    table: gpd.GeoDataFrame
    rows: Ints
    chosen: Chosen
    pool: Pool


def weighed(found: Candidates, weights: Mapping[str, float]) -> Floats:
    """Return each place's score over species and levels, (place,), in [0, 1].

    Species count by their weight, levels all alike; ``NaN`` where any is unknown.
    """
    shares = np.array([weights[name] for name in found.species], float)
    by_level = np.tensordot(shares / shares.sum(), found.scores.astype(float), (0, 1))
    return np.asarray(by_level.mean(axis=0), np.float64)


def layout_pool(
    run: Run,
    weights: Mapping[str, float],
    levels_m: Sequence[float],
    *,
    step_m: float = STEP_M,
    wishes: BankWishes | None = None,
) -> Pool:
    """Return the candidates of both banks together with the present pegs."""
    both = _all_places(run, step_m)
    seats = place_pegs(both, run.channel, run.survey.river.crs)
    found = judged_seats(run, seats, list(weights), levels_m, wishes=wishes)
    table = found.table.assign(peg=both["name"].to_numpy())
    table["excluded"] = [
        text if is_open else "; ".join(filter(None, (CLOSED, text)))
        for text, is_open in zip(table["excluded"], table["open"], strict=True)
    ]
    order = np.lexsort((table["bank_m"], table["bank"]))  # left before right
    sorted_ = replace(
        found,
        table=table.iloc[order].reset_index(drop=True),
        scores=found.scores[..., order],
        factors=found.factors[..., order],
    )
    return Pool(sorted_, weighed(sorted_, weights))


def _all_places(run: Run, step_m: float) -> pd.DataFrame:
    """Return new places, whose ``name`` is empty, and the present pegs."""
    new = bank_places(run.channel, step_m).assign(name="", open=True)
    present = pd.DataFrame(
        {
            "name": run.pegs.index.astype(str),
            "easting": run.pegs["easting"].to_numpy(),
            "northing": run.pegs["northing"].to_numpy(),
            "open": run.pegs["open"].to_numpy(),
            "step_free": run.pegs["step_free"].to_numpy(),
        }
    )
    both = pd.concat([new.assign(step_free=None), present], ignore_index=True)
    both["peg"] = both.index.astype(str)
    return both


def plan_layout(
    pool: Pool, rules: LayoutRules, *, progress: Callable[[str], None] = quiet
) -> Plan:
    """Return the best plan that keeps every rule.

    Raises
    ------
    LayoutRefused
        If there is none: with the largest number of pegs that fits, or with every
        kept peg that breaks a rule.
    """
    table = pool.found.table
    usable = np.flatnonzero((table["excluded"] == "").to_numpy(bool))
    kept = kept_rows(table, rules.keep)
    choice = choice_of(pool, usable, kept, rules)
    refuse_kept_conflicts(table.iloc[usable], choice, rules)
    progress(f"choosing {rules.pegs} of {len(usable):,} places")
    chosen = _chosen(choice, rules)
    if chosen is None:
        progress("nothing fits: counting how many pegs would")
        raise LayoutRefused(too_many(choice, rules))
    rows = usable[chosen.places]
    return Plan(plan_table(pool, rows, rules.sections), rows, chosen, pool)


def _chosen(choice: PegChoice, rules: LayoutRules) -> Chosen | None:
    if not rules.sections:
        return best_choice(choice, rules.pegs, rules.step_free)
    window = even_window(choice, rules.pegs, rules.step_free)
    if window is None:
        return None
    even = best_choice(choice.only(window), rules.pegs, rules.step_free)
    if even is None:
        return None
    back = np.flatnonzero(window | choice.kept)
    return even._replace(places=back[even.places])


def choice_of(pool: Pool, usable: Ints, kept: Ints, rules: LayoutRules) -> PegChoice:
    """Return the bare choice among some rows of the pool."""
    table = pool.found.table.iloc[usable]
    bank = table["bank"].to_numpy(object)
    east, north = (table[name].to_numpy(float) for name in ("easting", "northing"))
    pairs = too_close(east, north, bank, rules.spacing_m)
    if rules.across:
        pairs = np.vstack([pairs, facing(gpd.GeoSeries(table["swim"]), bank)])
    return PegChoice(
        values=pool.worth[usable],
        on_left=bank == "left",
        along_m=table["chainage_m"].to_numpy(float),
        conflicts=matrix_of(pairs, len(table)),
        kept=np.isin(usable, kept),
        step_free=table["step_free"].to_numpy(bool),
        sections=rules.sections,
    )


def plan_table(pool: Pool, rows: Ints, sections: int = 0) -> gpd.GeoDataFrame:
    """Return the chosen rows as the plan's table, numbered and cut into sections.

    Present pegs keep their names; new ones are ``new-1``, ``new-2``, ... downstream.
    """
    table = pool.found.table.iloc[rows]
    names, fresh = [], 0
    for name in table["peg"]:
        fresh += not name
        names.append(name or f"new-{fresh}")
    scores = pool.worth[rows]
    left = (table["bank"] == "left").to_numpy(bool)
    return gpd.GeoDataFrame(
        {
            "peg": names,
            "easting": table["easting"].to_numpy(float),
            "northing": table["northing"].to_numpy(float),
            "bank": table["bank"].to_numpy(object),
            "chainage_m": table["chainage_m"].to_numpy(float),
            "score": scores,
            "section": _sections(scores, left, sections).array,
            "step_free": table["step_free"].to_numpy(bool),
        },
        geometry=table.geometry.to_numpy(),
        crs=table.crs,
    )


def _sections(scores: Floats, left: NDArray[np.bool_], sections: int) -> pd.Series:
    """Return each peg's section, missing where none are wanted."""
    if not sections:
        return pd.Series([pd.NA] * len(scores), dtype="Int64")
    one, other = split_sections(scores[left], scores[~left], sections)
    return pd.Series(np.concatenate([one, other]), dtype="Int64")
