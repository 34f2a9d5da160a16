"""``pegscore stretch``: the best contiguous stretches of bank for a species."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.bank_rules import checked_clearance
from pegscore.conditions import Conditions, verdict
from pegscore.flag_words import flags_of, mark_of
from pegscore.opening import level_asked, open_asked
from pegscore.peg_words import walk_text
from pegscore.species import find_species
from pegscore.stretch import best_stretches
from pegscore.wording import AT_THE_WATER

if TYPE_CHECKING:
    from argparse import Namespace

    import geopandas as gpd

    from pegscore.workflow import Run

CAUTION = (
    "Scored along the whole bank, pegs or none: the way there, the bank itself and who "
    f"may fish there are not. {AT_THE_WATER}"
)


def run(options: Namespace) -> int:
    """Show the best stretches for one or more species."""
    progress = screen.ProgressLines(silent=options.quiet)
    checked_clearance(options.clearance)
    opened = open_asked(options, progress, out=options.out)
    level_m = level_asked(options, opened)
    conditions = Conditions(level_m=level_m, date=options.date, method=options.method)
    answer = {}
    for name in find_species(opened.species, options.species):
        progress(f"sliding along both banks for {name.replace('_', ' ')}")
        vetoes, found = _found(opened, name, conditions, options)
        rows = [] if found is None else screen.records(found)
        answer[name] = {"vetoes": vetoes, "stretches": rows}
        if not options.json:
            _show(opened.species[name].title, vetoes, found, options.units)
    if options.json:
        screen.show_json({"level_m": level_m, "note": CAUTION, "species": answer})
    else:
        screen.show(screen.wrapped(CAUTION, first="! "))
    return screen.DONE


def _found(
    opened: Run, name: str, conditions: Conditions, options: Namespace
) -> tuple[tuple[str, ...], gpd.GeoDataFrame | None]:
    """Return why nobody should fish, or the stretches."""
    season = opened.survey.river.season
    told = verdict(opened.species[name], conditions, season)
    if told.vetoes:
        return told.vetoes, None
    found = best_stretches(
        opened,
        name,
        conditions,
        length_m=options.length,
        top=options.top,
        clearance_m=options.clearance,
    )
    return (), found


def _show(
    title: str, vetoes: tuple[str, ...], found: gpd.GeoDataFrame | None, units: str
) -> None:
    screen.show(title)
    for veto in vetoes:
        screen.show(screen.wrapped(f"NO: {veto}"))
    if found is None:
        return
    rows = found.to_dict("records")
    header = ["", "bank", "from the head", "score", "80 %", "held back by", "pegs"]
    cells = [
        [
            str(number),
            row["bank"],
            f"{walk_text(row['from_m'], units)} to {walk_text(row['to_m'], units)}",
            f"{row['score']:.2f}{mark_of(row)}",
            f"{row['low']:.2f}-{row['high']:.2f}",
            row["limiting"] or "nothing much",
            row["pegs"] or "none",
        ]
        for number, row in enumerate(rows, 1)
    ]
    screen.show(screen.text_table(header, cells))
    for number, row in enumerate(rows, 1):
        screen.show(screen.wrapped(row["why"], first=f"{number}: "))
        for flag in flags_of(row):
            screen.show(screen.wrapped(flag.sentence, first="  ! ", rest="  "))
