"""``pegscore layout``: the committee's plan of pegs, or the check of a drawn one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from pegscore import screen
from pegscore.candidates import BankWishes
from pegscore.errors import LayoutRefused
from pegscore.layout import layout_pool, plan_layout
from pegscore.layout_check import check_layout
from pegscore.layout_comparison import compare
from pegscore.layout_file import COLUMNS, NOTE, Drawn, read_layout, write_layout
from pegscore.layout_rules import ALL, LayoutRules
from pegscore.methods import find_method
from pegscore.opening import levels_asked, open_asked
from pegscore.species import find_species

if TYPE_CHECKING:
    from argparse import Namespace

    import geopandas as gpd

    from pegscore.layout import Plan
    from pegscore.layout_check import Checked
    from pegscore.layout_comparison import Comparison
    from pegscore.workflow import Run

MOVES_SHOWN = 12
"""How many of the moves are told on the screen; --json tells all."""

RULES_TOLD = (
    "Kept clear: overhead lines {clearance:g} m (published advice: at least 30 m), "
    "weirs and outfalls 15 m, steep and soft banks 5 m (common practice, no source), "
    "no-fishing areas, and spawning gravel in reach {season}."
)


def run(options: Namespace) -> int:
    """Plan a layout, or check a drawn one."""
    if options.drawn is None and (options.pegs is None or options.spacing is None):
        screen.complain(
            ["pegscore layout: give --pegs and --spacing, or --from a drawn layout"]
        )
        return screen.MISUSED
    progress = screen.ProgressLines(silent=options.quiet)
    find_method(options.method)
    wishes = wishes_of(options)
    rules = None if options.drawn is not None else _rules(options)
    opened = open_asked(options, progress, out=options.out)
    weights = weights_of(opened, options.species)
    levels_m = levels_asked(options) or (opened.survey.river.gauge.level_m,)
    if rules is None:
        drawn = read_layout(options.drawn, opened.survey.river.crs)
        rules = _rules(options, drawn)
        checked = check_layout(
            opened, drawn.pegs, rules, weights, levels_m, wishes=wishes
        )
        return _answer_checked(checked, rules, options)
    progress("judging the places of both banks")
    pool = layout_pool(opened, weights, levels_m, step_m=options.step, wishes=wishes)
    _answer_plan(opened, plan_layout(pool, rules, progress=progress), rules, options)
    return screen.DONE


def wishes_of(options: Namespace) -> BankWishes:
    """Return what the arguments ask of a place."""
    return BankWishes(
        clearance_m=options.clearance,
        near_path_m=options.near_path,
        method=options.method,
        date=options.date,
    )


def _rules(options: Namespace, drawn: Drawn | None = None) -> LayoutRules:
    pegs, spacing_m = options.pegs, options.spacing
    if drawn is not None:
        pegs = len(drawn.pegs) if pegs is None else pegs
        spacing_m = drawn.spacing_m if spacing_m is None else spacing_m
    if spacing_m is None:
        message = "the drawn layout does not say its spacing; give --spacing"
        raise LayoutRefused(message)
    keep = tuple(name.strip() for name in options.keep.split(",") if name.strip())
    return LayoutRules(
        pegs=pegs,
        spacing_m=spacing_m,
        keep=(ALL,) if keep == (ALL,) else tuple(dict.fromkeys(keep)),
        step_free=options.step_free,
        sections=options.sections,
        across=options.across,
    )


def weights_of(opened: Run, wanted: str) -> dict[str, float]:
    """Return each wanted species' weight: ``barbel=2,chub`` is 2 and 1."""
    weights: dict[str, float] = {}
    for part in wanted.split(","):
        text, _, number = part.partition("=")
        try:
            weight = float(number) if number else 1.0
        except ValueError:
            weight = float("nan")
        if not (np.isfinite(weight) and weight > 0):
            message = f"the weight of {text!r} is {number!r}; give a number above 0"
            raise LayoutRefused(message)
        weights |= dict.fromkeys(find_species(opened.species, text), weight)
    return weights


def _answer_checked(checked: Checked, rules: LayoutRules, options: Namespace) -> int:
    status = screen.REFUSED if checked.breaks else screen.DONE
    if options.json:
        answer = {
            "ok": not checked.breaks,
            "breaks": checked.breaks,
            "pegs": screen.records(checked.table),
        }
        screen.show_json(answer)
        return status
    screen.show(_table_text(checked.table))
    mean = float(checked.table["score"].mean())
    screen.show(f"{len(checked.table)} pegs, mean score {mean:.3f}.")
    if checked.breaks:
        screen.complain(f"breaks a rule: {text}" for text in checked.breaks)
    else:
        screen.show(f"Every rule holds: at least {rules.spacing_m:g} m apart.")
    screen.show(screen.wrapped(NOTE, first="! "))
    return status


def _answer_plan(
    opened: Run, plan: Plan, rules: LayoutRules, options: Namespace
) -> None:
    write_layout(plan.table, opened.out, spacing_m=rules.spacing_m)
    change = compare(plan)
    if options.json:
        screen.show_json(_record(opened, plan, change))
        return
    screen.show(f"{opened.survey.river.name}: {rules.pegs} pegs")
    season = f"on {options.date}" if options.date else "all year (no --date given)"
    screen.show(RULES_TOLD.format(clearance=options.clearance, season=season))
    if opened.survey.places is None:
        screen.show("There is no places file: no hazard is known, not even a line.")
    screen.show(_table_text(plan.table))
    screen.show(_proof(plan))
    for line in _changes(change):
        screen.show(line)
    screen.show(screen.wrapped(NOTE, first="! "))
    screen.show(f"Written: {opened.out / 'layout.csv'} and layout.geojson")


def _proof(plan: Plan) -> str:
    found = plan.chosen
    told = f"Plan's value {found.value:.3f} (sum of scores), by {found.method}: "
    if found.gap == 0:
        among = "" if plan.table["section"].isna().all() else " of the most even plans"
        return f"{told}proven to be the best{among}, optimality gap 0."
    return f"{told}optimality gap {100 * found.gap:.3f} %; a better plan may exist."


def _changes(change: Comparison) -> list[str]:
    allowed = change.present - len(change.broken)
    told = (
        f"Present layout: {change.present} pegs, {allowed} of them within the rules "
        f"with a mean score of {change.present_mean:.3f}; the plan's mean is "
        f"{change.plan_mean:.3f} ({change.plan_mean - change.present_mean:+.3f})."
    )
    lines = [told]
    lines += [f"Breaks a rule today: peg {peg}: {why}" for peg, why in change.broken]
    lines.append(
        f"{len(change.stays)} stay, {len(change.moves)} move, "
        f"{len(change.goes)} go, {len(change.comes)} are new."
    )
    moves = sorted(change.moves, key=lambda move: -move.gain)
    lines += [
        f"Peg {move.peg} moves {move.metres:.0f} m "
        f"{'down' if move.downstream else 'up'}stream to {move.to}: {move.gain:+.3f}"
        for move in moves[:MOVES_SHOWN]
    ]
    if len(moves) > MOVES_SHOWN:
        lines.append(f"... and {len(moves) - MOVES_SHOWN} more that gain less; --json")
    return lines


def _record(opened: Run, plan: Plan, change: Comparison) -> dict[str, Any]:
    return {
        "river": opened.survey.river.name,
        "value": plan.chosen.value,
        "gap": plan.chosen.gap,
        "method": plan.chosen.method,
        "note": NOTE,
        "pegs": screen.records(plan.table),
        "change": {
            **change._asdict(),
            "moves": [move._asdict() for move in change.moves],
            "broken": dict(change.broken),
        },
    }


def _table_text(table: gpd.GeoDataFrame) -> str:
    names = [name for name in COLUMNS if name not in ("easting", "northing")]
    if table["section"].isna().all():
        names.remove("section")
    rows = []
    for row in table.to_dict("records"):
        shown = {
            **row,
            "peg": screen.shortened(row["peg"]),
            "chainage_m": f"{row['chainage_m']:.0f}",
            "score": f"{row['score']:.3f}",
            "step_free": "yes" if row["step_free"] else "",
        }
        rows.append([str(shown[name]) for name in names])
    header = [
        name.replace("chainage_m", "chainage").replace("_", "-") for name in names
    ]
    return screen.text_table(header, rows)
