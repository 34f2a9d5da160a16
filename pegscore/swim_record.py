"""The swim sheet as plain values: whole for machines, small for the map's panel."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from pegscore.screen import plain

if TYPE_CHECKING:
    from pegscore.feeding_zone import Feed
    from pegscore.run_line import RunLine
    from pegscore.swim_marks import Mark
    from pegscore.swim_score import SwimScore
    from pegscore.swim_sheet import SwimSheet

PANEL_STEP = 2
"""The panel shows every second point of the run line, one in two metres."""

CENTIMETRES = 2
"""Decimals that lengths and paces keep: no survey is finer."""


def sheet_record(sheet: SwimSheet) -> dict[str, Any]:
    """Return a whole sheet as plain JSON values; unknown is None.

    Lengths are metres, speeds m/s, times seconds; ``down`` is along the run line
    from abreast of the peg, ``out`` from the water's edge on its side.
    """
    told = {
        "river": sheet.river,
        "peg": sheet.peg,
        "bank": sheet.bank,
        "method": sheet.method,
        "level_m": sheet.level_m,
        "survey_date": sheet.survey_date,
        "barred": sheet.barred or None,
        "cautions": sheet.cautions,
        "notes": sheet.notes,
        "distance_out_m": sheet.distance_out_m,
        "water_temp_c": sheet.temp_c,
        "run_line": [] if sheet.line is None else _points(sheet.line),
        "pass_s": sheet.pass_s,
        "depth_to_set": _fields(sheet.depth_to_set),
        "float_weight": _fields(sheet.weight),
        "land_at_m": sheet.land_at_m,
        "feeds": [_feed(feed) for feed in sheet.feeds],
        "feeding_zone": _fields(sheet.zone),
        "structure": [_mark(mark) for mark in sheet.structure],
        "things": [_mark(mark) for mark in sheet.things],
        "netting": _fields(sheet.netting),
        "score": None if sheet.score is None else _score(sheet.score),
        "general_cautions": sheet.general_cautions,
    }
    record: dict[str, Any] = _rounded(plain(told))
    return record


def panel_record(sheet: SwimSheet) -> dict[str, Any]:
    """Return what the map's panel shows of a sheet: small, plain JSON values.

    Returns
    -------
    dict
        ``barred``: why nobody may fish, or None; then ``feeds``, ``zone`` and
        ``set_m`` are empty. ``points``: of the run in the swim, one in two metres,
        ``[easting, northing, down_m, depth_m, speed_m_s]`` in the survey's own
        system. ``out_m``: the line's distance out. ``set_m``: depth to set:
        ``clear``, ``usual``, ``deepest``. ``pass_s``: time to pass. ``feeds``: a
        bait each: ``title``, ``thrown_m``, ``from_m``, ``at_m``, ``to_m``,
        ``drift_m``, ``floats``, ``basis``. ``zone``: ``from_m``, ``to_m``,
        ``shared_from_m``, ``shared_to_m``, ``pass_s``, or None. ``weight_g``,
        ``notes``. Unknown is None. Titles are foreign text where a club has baits of
        its own.
    """
    zone = sheet.zone
    told = {
        "level_m": sheet.level_m,
        "barred": sheet.barred or None,
        "out_m": sheet.distance_out_m,
        "points": [] if sheet.line is None else _thinned(sheet.line),
        "set_m": None
        if sheet.depth_to_set is None
        else {
            "clear": sheet.depth_to_set.clear_m,
            "usual": sheet.depth_to_set.usual_m,
            "deepest": sheet.depth_to_set.deepest_m,
        },
        "pass_s": sheet.pass_s,
        "feeds": [_small_feed(feed) for feed in sheet.feeds],
        "zone": _fields(zone),
        "weight_g": None if sheet.weight is None else sheet.weight.grams,
        "notes": sheet.notes,
    }
    record: dict[str, Any] = _rounded(plain(told))
    return record


def _points(line: RunLine) -> list[dict[str, Any]]:
    """Return the run line in the swim, a point a metre."""
    columns: dict[str, Any] = {
        "down_m": line.along_m,
        "out_m": line.out_m,
        "easting": line.easting,
        "northing": line.northing,
        "depth_m": line.depth_m,
        "depth_sd_m": line.depth_sd_m,
        "speed_m_s": line.speed_m_s,
        "speed_sd_m_s": line.speed_sd_m_s,
        "bottom": [word or None for word in line.bottom],
        "bottom_share": line.bottom_share,
    }
    return [
        {name: values[at] for name, values in columns.items()}
        for at in np.flatnonzero(line.fished)
    ]


def _thinned(line: RunLine) -> list[list[float]]:
    columns = (line.easting, line.northing, line.along_m, line.depth_m, line.speed_m_s)
    kept = np.flatnonzero(line.fished)[::PANEL_STEP]
    return [[float(column[at]) for column in columns] for at in kept]


def _feed(feed: Feed) -> dict[str, Any]:
    return {
        "name": feed.name,
        "title": feed.title,
        "floats": feed.settling.floats,
        "settling_m_s": {
            "low": feed.settling.low_m_s,
            "usual": feed.settling.usual_m_s,
            "high": feed.settling.high_m_s,
            "basis": feed.settling.basis,
        },
        "thrown_m": feed.thrown_m,
        "lands": asdict(feed.landing),
    }


def _small_feed(feed: Feed) -> dict[str, Any]:
    return {
        "title": feed.title,
        "thrown_m": feed.thrown_m,
        "from_m": feed.landing.from_m,
        "at_m": feed.landing.at_m,
        "to_m": feed.landing.to_m,
        "drift_m": feed.landing.at_m - feed.thrown_m,
        "floats": feed.settling.floats,
        "basis": feed.settling.basis,
    }


def _mark(mark: Mark) -> dict[str, Any]:
    return {
        "kind": mark.kind,
        "title": mark.title,
        "out_m": [mark.out_from_m, mark.out_to_m],
        "down_m": [mark.down_from_m, mark.down_to_m],
    }


def _score(score: SwimScore) -> dict[str, Any]:
    return {
        "species": score.species.name,
        "vetoes": score.vetoes,
        "notes": score.notes,
        "pegs_ranked": score.pegs,
        **dict(score.row),
    }


def _fields(value: Any) -> dict[str, Any] | None:  # noqa: ANN401 - a part or None
    return None if value is None else asdict(value)


def _rounded(value: Any) -> Any:  # noqa: ANN401 - whatever JSON can hold
    """Keep centimetres, and three decimals of what is small."""
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    if isinstance(value, float):
        return round(value, CENTIMETRES if abs(value) >= 1 else CENTIMETRES + 1)
    return value
