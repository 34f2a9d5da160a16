"""``pegscore train``: learn from the catch returns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.answers import TESTS_SAID, show_outcome
from pegscore.ranker_file import RANKER_FILE
from pegscore.species import find_species
from pegscore.training import train_run
from pegscore.training_pages import report_training
from pegscore.workflow import open_run

if TYPE_CHECKING:
    from argparse import Namespace


def run(options: Namespace) -> int:
    """Fit the ranker on the returns, show the comparison, keep or decline it."""
    progress = screen.ProgressLines(silent=options.quiet)
    opened = open_run(
        options.survey, out=options.out, cell_m=options.cell, progress=progress
    )
    names = find_species(opened.species, options.species)
    outcomes = train_run(opened, names, progress=progress)
    progress("drawing the report")
    report = report_training(opened, outcomes)
    progress("done")
    if options.json:
        screen.show_json(
            {name: told.as_record(short=True) for name, told in outcomes.items()}
        )
        return screen.DONE
    for told in outcomes.values():
        show_outcome(told, opened.species[told.species].title)
    if any(told.tests for told in outcomes.values()):
        screen.show(screen.wrapped(TESTS_SAID))
    screen.show(f"Written: {opened.out / RANKER_FILE} and {report}")
    return screen.DONE
