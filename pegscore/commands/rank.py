"""``pegscore rank``: pegs in order for a species."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.answers import ranking_record, show_ranking
from pegscore.conditions import Conditions
from pegscore.methods import find_method
from pegscore.species import find_species, read_species
from pegscore.tables import write_ranking
from pegscore.workflow import open_run, rank_run

if TYPE_CHECKING:
    from argparse import Namespace


def run(options: Namespace) -> int:
    """Put the pegs in order for one or more species."""
    progress = screen.ProgressLines(silent=options.quiet)
    levels = () if options.level is None else (options.level,)
    _check_wishes(options)
    opened = open_run(
        options.survey,
        out=options.out,
        cell_m=options.cell,
        levels_m=levels,
        method=options.method,
        progress=progress,
    )
    conditions = Conditions(
        level_m=opened.survey.river.gauge.level_m if not levels else levels[0],
        date=options.date,
        water_temp_c=options.water_temp,
        method=options.method,
    )
    names = find_species(opened.species, options.species)
    ranking = rank_run(opened, names, conditions, progress=progress)
    write_ranking(ranking, opened.out)
    if options.json:
        screen.show_json(
            ranking_record(opened, names, ranking, conditions, top=options.top)
        )
        return screen.DONE
    for name in names:
        show_ranking(
            opened, name, ranking, conditions, top=options.top, units=options.units
        )
        screen.show()
    screen.show(f"Written: {opened.out / 'ranking.csv'} and ranking.gpkg")
    return screen.DONE


def _check_wishes(options: Namespace) -> None:
    """Refuse a slip of the pen before the minutes that a survey's layers take."""
    find_method(options.method)
    if options.survey.is_dir():
        find_species(read_species(options.survey), options.species)
    Conditions(level_m=options.level or 0.0, water_temp_c=options.water_temp)
