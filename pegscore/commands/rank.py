"""``pegscore rank``: pegs in order for a species on a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.answers import ranking_record, show_day, show_ranking
from pegscore.conditions import Conditions
from pegscore.covered_water import foreign_words
from pegscore.day import light_of, rank_day, zone_named
from pegscore.errors import PegError
from pegscore.exploring_answer import show_exploring
from pegscore.levels import above_measured_m
from pegscore.methods import find_method
from pegscore.opening import level_asked, open_asked
from pegscore.ranker_file import read_foreign
from pegscore.run_visits import run_visits
from pegscore.species import find_species, read_species
from pegscore.tables import write_ranking
from pegscore.wishes import Wishes
from pegscore.wording import AT_THE_WATER

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Mapping

    import geopandas as gpd

    from pegscore.trained import Trained
    from pegscore.workflow import Run

FEWEST_HERE = 30
"""Visits to this river before a catch an hour is told with another river's ranker.

The study the ranker's design comes from, where it is a judgement of its author.
"""

FOREIGN = (
    "half by the rankers of {river} ({kinds}), half by published preferences; what "
    "holds on another river is not proven here"
)


def run(options: Namespace) -> int:
    """Put the pegs in order for one or more species."""
    progress = screen.ProgressLines(silent=options.quiet)
    wishes = _wishes(options)
    _check_wishes(options)
    opened = open_asked(options, progress, out=options.out, date=options.date)
    conditions = _conditions(opened, options)
    names = find_species(opened.species, options.species)
    rankers = _rankers(options, progress)
    ranking = rank_day(opened, names, conditions, rankers=rankers, progress=progress)
    _must_hold_water(opened, ranking, conditions)
    if options.explore:
        _check_explorable(opened, rankers)
        return show_exploring(opened, names, ranking, wishes, machine=options.json)
    write_ranking(ranking, opened.out)
    far = _foreign(ranking, rankers)
    if options.json:
        record = ranking_record(opened, names, ranking, conditions, wishes=wishes)
        for name, words in far.items():
            told = record["species"][name]
            told["notes"] = [*told["notes"], words]
        screen.show_json(record)
        return screen.DONE
    show_day(opened, conditions, wishes.units)
    for name in names:
        screen.show()
        if name in far:
            screen.show(screen.wrapped(far[name], first="! "))
        show_ranking(opened, name, ranking, conditions, wishes=wishes)
    _show_end(opened)
    return screen.DONE


def _show_end(opened: Run) -> None:
    screen.show()
    screen.show(screen.wrapped(AT_THE_WATER))
    screen.show(f"Written: {opened.out / 'ranking.csv'} and ranking.gpkg")


def _wishes(options: Namespace) -> Wishes:
    return Wishes(
        top=options.top,
        step_free=options.step_free,
        within_m=options.within,
        units=options.units,
    )


def _rankers(
    options: Namespace, progress: screen.ProgressLines
) -> Mapping[str, Trained] | None:
    """Read another river's rankers if they were asked for."""
    if options.ranker is None:
        return None
    rankers, river = read_foreign(options.ranker)
    progress(FOREIGN.format(river=river, kinds=", ".join(rankers)))
    return rankers


def _foreign(
    ranking: gpd.GeoDataFrame, rankers: Mapping[str, Trained] | None
) -> dict[str, str]:
    """Say by species where another river's ranker is out of its depth."""
    told = {
        name: foreign_words(ranking[ranking["species"] == name], ranker)
        for name, ranker in (rankers or {}).items()
        if (ranking["species"] == name).any()
    }
    return {name: words for name, words in told.items() if words}


def _check_explorable(opened: Run, rankers: Mapping[str, Trained] | None) -> None:
    """Another river's ranker tells ratios; a catch an hour needs returns of here."""
    if rankers is None:
        return
    here = len(run_visits(opened))
    if here < FEWEST_HERE:
        message = (
            f"{here} visits were handed in here and {FEWEST_HERE} are needed before "
            "another river's ranker can tell a catch an hour; leave out --explore or "
            "--ranker"
        )
        raise PegError(message)


def _conditions(opened: Run, options: Namespace) -> Conditions:
    survey, level_m = opened.survey, level_asked(options, opened)
    light = None
    if options.hour is not None:
        light = light_of(survey, options.date, options.hour, options.zone)
    return Conditions(
        level_m=level_m,
        date=options.date,
        water_temp_c=options.water_temp,
        method=options.method,
        light=light,
        clarity=options.clarity or "",
        wind_m_s=options.wind,
        oxygen_mg_l=options.oxygen,
        above_measured_m=above_measured_m(survey, level_m),
    )


def _must_hold_water(
    opened: Run, ranking: gpd.GeoDataFrame, conditions: Conditions
) -> None:
    """Refuse a level at which no swim holds water, before anything is written."""
    if (ranking["wet_area_m2"] > 0).any():
        return
    own_m = opened.survey.river.gauge.level_m
    message = (
        f"at {conditions.level_m:.2f} m on the board no peg's swim is known to hold "
        f"water; give a level nearer the river's own {own_m:.2f} m"
    )
    raise PegError(message)


def _check_wishes(options: Namespace) -> None:
    """Refuse a slip of the pen before the minutes that a survey's layers take."""
    find_method(options.method)
    if options.hour is not None and options.date is None:
        message = f"hour {options.hour:%H:%M} has no day; add --date, e.g. 2026-06-16"
        raise PegError(message)
    if options.zone is not None:
        zone_named(options.zone)
    if options.survey.is_dir():
        find_species(read_species(options.survey), options.species)
    Conditions(
        level_m=options.level or 0.0,
        water_temp_c=options.water_temp,
        wind_m_s=options.wind,
        oxygen_mg_l=options.oxygen,
    )
