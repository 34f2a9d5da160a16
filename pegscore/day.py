"""The answer of a day: a ranking and what day, level and walk make of it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from pyproj import Transformer

from layers.measured import NEAR_M, MeasuredLevels
from layers.pipeline import quiet
from layers.river import WGS84
from pegscore.conditions import verdict
from pegscore.daylight import light_at
from pegscore.errors import PegError
from pegscore.level_change import CHANGES, level_changes
from pegscore.walks import walk_lengths
from pegscore.workflow import rank_run

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import geopandas as gpd

    from layers.river import Survey
    from pegscore.conditions import Conditions, Verdict
    from pegscore.daylight import Light
    from pegscore.trained import Trained
    from pegscore.workflow import Run

BLANKED = ("score", "low", "high", "today", *CHANGES)
"""What a species that should not be fished for does not show, in files neither."""


def rank_day(
    run: Run,
    names: Sequence[str],
    conditions: Conditions,
    *,
    rankers: Mapping[str, Trained] | None = None,
    progress: Callable[[str], None] = quiet,
) -> gpd.GeoDataFrame:
    """Rank the run's pegs for each species, with what an angler needs to choose.

    ``rankers`` take the place of the run's own, as those of another river do.

    Returns
    -------
    GeoDataFrame
        As ``pegscore.workflow.rank_run``, and ``day_factor`` (what the day does to
        every peg alike) with ``day_why``; ``today`` holds both that and the peg's own
        modifier. ``CHANGES`` say from which board readings a peg is clearly better or
        worse; ``walk_m``, ``walk_basis``, ``step_free`` (``yes``, ``no``,
        ``unknown``) how it is reached; ``cautions`` what to mind there. A species
        with a veto keeps its rows without score, order and changes; ``why`` says it.
    """
    ranking = rank_run(run, names, conditions, rankers=rankers, progress=progress)
    season, access = run.survey.river.season, _access(run)
    tables = []
    for name in names:
        rows = ranking[ranking["species"] == name]
        told = verdict(run.species[name], conditions, season)
        rows = _with_day(rows, told)
        rows = rows.merge(_changes(run, name, conditions), on="peg", how="left")
        rows = rows.merge(access, on="peg", how="left")
        unscored = rows["score"].isna()
        rows.loc[unscored, [*CHANGES]] = np.nan
        rows.loc[unscored, "modifier_why"] = ""
        tables.append(_vetoed(rows, told) if told.vetoes else rows)
    joined: gpd.GeoDataFrame = pd.concat(tables, ignore_index=True)
    return joined


def light_of(survey: Survey, date: dt.date, hour: dt.time, zone: str | None) -> Light:
    """Return the light at the middle of a survey's river.

    Parameters
    ----------
    survey : Survey
        Where the river lies.
    date, hour : datetime.date, datetime.time
        As the clock on the bank shows them.
    zone : str or None
        The clock's zone, as ``Europe/London``; None takes the machine's own.

    Raises
    ------
    PegError
        If there is no such zone.
    """
    clock = dt.datetime.combine(date, hour)
    moment = (
        clock.astimezone() if zone is None else clock.replace(tzinfo=zone_named(zone))
    )
    middle = survey.centreline.interpolate(0.5, normalized=True)
    to_degrees = Transformer.from_crs(survey.river.crs, WGS84, always_xy=True)
    longitude, latitude = to_degrees.transform(middle.x, middle.y)
    return light_at(moment, longitude=longitude, latitude=latitude)


def zone_named(name: str) -> ZoneInfo:
    """Return a time zone, or refuse with ``PegError`` what is none."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        message = f"there is no time zone {name!r}; write it as Europe/London"
        raise PegError(message) from None


def _with_day(rows: gpd.GeoDataFrame, told: Verdict) -> gpd.GeoDataFrame:
    return rows.assign(
        today=rows["today"] * told.day_factor,
        day_factor=told.day_factor,
        day_why="; ".join(told.day_why),
    )


def _changes(run: Run, name: str, conditions: Conditions) -> pd.DataFrame:
    """Compare with the built levels that lie within what was measured."""
    low_m, high_m = MeasuredLevels.of(run.survey).all_m
    levels_m = [
        level
        for level in run.stack.levels_m
        if low_m - NEAR_M <= level <= high_m + NEAR_M
    ]
    changes = level_changes(
        run.stack,
        run.pegs,
        run.species[name],
        conditions.level_m,
        levels_m=levels_m,
    )
    return changes.rename_axis("peg").reset_index()


def _access(run: Run) -> pd.DataFrame:
    access = walk_lengths(run.pegs, run.survey.places)
    access["step_free"] = [
        "unknown" if pd.isna(value) else "yes" if value else "no"
        for value in run.pegs["step_free"]
    ]
    access["cautions"] = [
        "; ".join(each.text for each in run.cautions.get(peg, ()) if each.members)
        for peg in access.index
    ]
    return access.rename_axis("peg").reset_index()


def _vetoed(rows: gpd.GeoDataFrame, told: Verdict) -> gpd.GeoDataFrame:
    """Take scores and order from a species that nobody should fish for today."""
    rows = rows.assign(**dict.fromkeys(BLANKED, np.nan))
    return rows.assign(
        rank=pd.array([pd.NA] * len(rows), dtype="Int64"),
        tier=0,
        limiting="",
        returns="",
        modifier_why="",
        why=f"Not ranked: {'; '.join(told.vetoes)}.",
    )
