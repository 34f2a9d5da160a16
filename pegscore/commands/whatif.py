"""``pegscore whatif``: the ranking before and after a change of the river."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from pegscore import screen
from pegscore.conditions import Conditions
from pegscore.errors import ScenarioRefused
from pegscore.opening import level_asked, open_asked
from pegscore.scenario import CONSENT, Edit, edited_run, read_scenario
from pegscore.species import find_species
from pegscore.units import is_unknown
from pegscore.wording import AT_THE_WATER
from pegscore.workflow import rank_run

if TYPE_CHECKING:
    from argparse import Namespace

    import geopandas as gpd

    from pegscore.workflow import Run

COLUMNS = ["rank", "score", "low", "high", "why"]

TREES = (
    "Trees are no part of any score, so felling changes none; the cover that fish lose "
    "is in no number here."
)

LEAST_CHANGE = 0.005
"""Smaller changes of a score are not shown: two digits would not tell them."""


def run(options: Namespace) -> int:
    """Rank the pegs as the river is and as it would be."""
    progress = screen.ProgressLines(silent=options.quiet)
    edits = _edits(options)
    opened = open_asked(options, progress, out=options.out)
    level_m = level_asked(options, opened)
    conditions = Conditions(level_m=level_m, method=options.method)
    names = find_species(opened.species, options.species)
    changed = edited_run(opened, edits)
    before, after = (
        rank_run(each, names, conditions, progress=progress)
        for each in (opened, changed)
    )
    _answer(opened, changed, beside(before, after), names, options)
    return screen.DONE


def _answer(
    opened: Run, changed: Run, table: pd.DataFrame, names: list[str], options: Namespace
) -> None:
    gone = _gone(opened, changed)
    if options.json:
        pegs = screen.records(table)
        screen.show_json(
            {
                "caution": f"{CONSENT} {AT_THE_WATER}",
                "pegs": pegs,
                "cautions_gone": gone,
            }
        )
        return
    for name in names:
        screen.show(opened.species[name].title)
        screen.show(_text(table[table["species"] == name]))
    for peg, texts in gone.items():
        screen.show(f"Peg {peg} loses the caution: {'; '.join(texts)}")
    if opened.survey.places is not changed.survey.places:
        screen.show(screen.wrapped(TREES))
    screen.show(screen.wrapped(CONSENT, first="! "))
    screen.show(screen.wrapped(AT_THE_WATER, first="! "))


def _edits(options: Namespace) -> list[Edit]:
    edits = list(read_scenario(options.scenario)) if options.scenario else []
    edits += [Edit(area=area, bottom={"gravel": 1.0}) for area in options.add_gravel]
    edits += [Edit(fell=tree) for tree in options.fell]
    if not edits:
        message = "nothing to change; give a scenario file, --add-gravel or --fell"
        raise ScenarioRefused(message)
    return edits


def beside(before: gpd.GeoDataFrame, after: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return both rankings side by side, a row a species and peg, best gain first."""
    keys = ["species", "peg"]
    one, other = (
        pd.DataFrame(table[keys + COLUMNS]).set_index(keys) for table in (before, after)
    )
    joined = one.add_suffix("_before").join(other.add_suffix("_after")).reset_index()
    joined["change"] = joined["score_after"] - joined["score_before"]
    return joined.sort_values("change", ascending=False, kind="stable")


def _text(table: pd.DataFrame) -> str:
    moved = table[~(table["change"].abs() < LEAST_CHANGE)]
    moved = moved[moved["score_before"].notna() | moved["score_after"].notna()]
    if moved.empty:
        return "No peg's score changes."
    rows = [
        [
            row["peg"],
            *(_digits(row[f"score_{when}"]) for when in ("before", "after")),
            "n/a" if is_unknown(row["change"]) else f"{row['change']:+.2f}",
            *(_whole(row[f"rank_{when}"]) for when in ("before", "after")),
            f"{_digits(row['low_after'])}-{_digits(row['high_after'])}",
        ]
        for row in moved.to_dict("records")
    ]
    header = ["peg", "before", "after", "change", "rank", "then", "80 % then"]
    return screen.text_table(header, rows)


def _digits(value: float) -> str:
    return "n/a" if is_unknown(value) else f"{value:.2f}"


def _whole(value: float) -> str:
    return "-" if is_unknown(value) else f"{value:.0f}"


def _gone(before: Run, after: Run) -> dict[str, list[str]]:
    """Return the cautions that an edit takes away, by peg."""
    found = {}
    for peg, cautions in before.cautions.items():
        left = {caution.text for caution in after.cautions[peg]}
        if texts := [c.text for c in cautions if c.text not in left]:
            found[peg] = texts
    return found
