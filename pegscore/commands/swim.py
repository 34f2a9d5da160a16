"""``pegscore swim``: one peg's swim sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.baits import find_baits, read_baits
from pegscore.conditions import Conditions
from pegscore.methods import find_method
from pegscore.opening import level_asked, open_asked
from pegscore.species import find_species, read_species
from pegscore.swim import SwimWishes, sheet_record, swim_sheet
from pegscore.swim_words import sheet_text

if TYPE_CHECKING:
    from argparse import Namespace
    from pathlib import Path

    from pegscore.swim import SwimSheet
    from pegscore.workflow import Run


def run(options: Namespace) -> int:
    """Tell one peg's swim, and draw it on a page if that is wanted."""
    progress = screen.ProgressLines(silent=options.quiet)
    sheet, opened = _sheet(options, progress)
    page = _page(sheet, opened, options.units, progress) if options.pdf else None
    if options.json:
        told = {**sheet_record(sheet), "pdf": None if page is None else str(page)}
        screen.show_json(told)
        return screen.DONE
    screen.show(sheet_text(sheet, units=options.units))
    if page is not None:
        screen.show(f"Written: {page}")
    return screen.DONE


def _sheet(options: Namespace, progress: screen.ProgressLines) -> tuple[SwimSheet, Run]:
    """Build or reuse the layers and put the sheet together."""
    wishes = _wishes(options)
    _check_wishes(options, wishes)
    opened = open_asked(options, progress, out=options.out, date=options.date)
    level_m = level_asked(options, opened)
    return swim_sheet(opened, options.peg, level_m=level_m, wishes=wishes), opened


def _page(
    sheet: SwimSheet, opened: Run, units: str, progress: screen.ProgressLines
) -> Path:
    """Draw the page; matplotlib is loaded only when one is wanted."""
    from pegscore.prints.swim_page import write_swim_page  # noqa: PLC0415 - heavy

    progress("drawing the page")
    return write_swim_page(sheet, opened, units=units)


def _wishes(options: Namespace) -> SwimWishes:
    baits = [name for given in options.bait or () for name in given.split(",")]
    return SwimWishes(
        species=options.species,
        distance_out_m=options.out_m,
        baits=baits or None,
        throw_m=options.throw,
        land_at_m=options.land_at,
        method=options.method,
        date=options.date,
        water_temp_c=options.water_temp,
    )


def _check_wishes(options: Namespace, wishes: SwimWishes) -> None:
    """Refuse a slip of the pen before the minutes that a survey's layers take."""
    find_method(wishes.method)
    Conditions(level_m=options.level or 0.0, water_temp_c=wishes.water_temp_c)
    if options.survey.is_dir():
        find_baits(read_baits(options.survey), wishes.baits)
        if wishes.species is not None:
            find_species(read_species(options.survey), wishes.species)
