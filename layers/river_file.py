"""``river.toml``: the stretch's name, CRS, gauge board, rating and season."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any, NamedTuple

from pyproj import CRS
from pyproj.exceptions import CRSError

from layers.cells import month_day
from layers.placement import to_metres
from layers.problems import nearest_name
from layers.river import Gauge, Rating, River, Season
from layers.sections import FILE, KEYS, Section

if TYPE_CHECKING:
    from pathlib import Path

    from layers.problems import ProblemList

STEEPEST = 0.05
"""A mean water-surface slope above this is a torrent: probably per cent."""

LONGEST_NAME = 120
"""Letters of a stretch's name that fit above a map."""

FIRST_NORTH, FIRST_SOUTH = 32600, 32700
"""EPSG's WGS 84 / UTM zones are these plus the zone's number."""


class RiverRead(NamedTuple):
    """What could be read; the CRS is known even where the rest is refused."""

    river: River | None
    crs: CRS | None


def read_river(path: Path, problems: ProblemList) -> RiverRead:
    """Read ``river.toml``; what cannot be used is noted in ``problems``."""
    values = _toml(path, problems)
    if values is None:
        return RiverRead(None, None)
    _report_sections(values, problems)
    head = Section("river", values.get("river"), problems)
    name = _name(head)
    gauge_part = Section("gauge", values.get("gauge"), problems)
    crs = _crs(head, gauge_part)
    gauge = _gauge(gauge_part, crs)
    rating = _rating(values, gauge, problems)
    season = _season(values, problems)
    if name is None or crs is None or gauge is None:
        return RiverRead(None, crs)
    river = River(name=name, crs=crs, gauge=gauge, rating=rating, season=season)
    return RiverRead(river, crs)


def _name(head: Section) -> str | None:
    """Return the stretch's name: one line that fits on a map."""
    name = head.text("name", 'write name = "..." under [river]')
    if name is None or (name.isprintable() and len(name) <= LONGEST_NAME):
        return name
    what = f"the name is no one line of up to {LONGEST_NAME} letters"
    head.refuse("name-range", "name", what, "write the name as maps should show it")
    return None


def _toml(path: Path, problems: ProblemList) -> dict[str, Any] | None:
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        what = f"the file is not UTF-8 text (byte {error.start + 1})"
    except tomllib.TOMLDecodeError as error:
        what = f"the file is not valid TOML ({error})"
    except RecursionError:
        what = "the file is not valid TOML (brackets within brackets without end)"
    problems.refuse(
        "unreadable",
        FILE,
        what,
        'correct that line: key = value, texts in "quotes", sections in [brackets]',
    )
    return None


def _report_sections(values: dict[str, Any], problems: ProblemList) -> None:
    for name in values:
        if name not in KEYS:
            likely = nearest_name(name, KEYS)
            problems.warn(
                "unused-key",
                FILE,
                "the section is not used",
                f"rename it to {likely!r} if that is it"
                if likely
                else "nothing to do if it is a note of your own",
                column=name,
            )
    for name in ("river", "gauge"):
        if not isinstance(values.get(name), dict):
            problems.refuse(
                "missing-section",
                FILE,
                f"there is no section [{name}]",
                f"add [{name}] as the survey format shows",
                column=name,
            )


def _crs(head: Section, gauge: Section) -> CRS | None:
    advice = 'write a projected CRS in metres, as crs = "EPSG:27700"'
    text = head.text("crs", advice)
    if text is None:
        return None
    try:
        crs = CRS.from_user_input(text)
    except CRSError:
        head.refuse("unknown-crs", "crs", "this is no reference system", advice)
        return None
    if not crs.is_projected:
        head.refuse(
            "crs-not-projected",
            "crs",
            "the CRS is not projected: its coordinates are degrees, in which "
            "distances and widths cannot be measured",
            f"use a projected CRS in metres, {_suggestion(gauge)}; tables may stay in "
            "lon,lat",
        )
        return None
    return _metric(crs, head)


def _metric(crs: CRS, head: Section) -> CRS | None:
    flat = crs.to_2d()
    units = {axis.unit_name for axis in flat.axis_info[:2]}
    if units != {"metre"}:
        head.refuse(
            "crs-not-metres",
            "crs",
            f"the unit of the CRS is {', '.join(sorted(units))}, not the metre",
            "use the CRS of the same area in metres, as a UTM zone",
        )
        return None
    return flat


def _suggestion(gauge: Section) -> str:
    longitude, latitude = gauge.values.get("lon"), gauge.values.get("lat")
    if not isinstance(longitude, (int, float)) or not isinstance(
        latitude, (int, float)
    ):
        return 'as your country\'s grid or a UTM zone ("EPSG:326" and the zone)'
    code = utm_zone(longitude, latitude)
    return f"as EPSG:{code} (the UTM zone of the gauge) or your country's grid"


def utm_zone(longitude: float, latitude: float) -> int:
    """Return the EPSG code of the WGS 84 / UTM zone of a place.

    The widened zones of Norway and Svalbard are not regarded: the plain zone is
    still a projected CRS in metres.

    Examples
    --------
    >>> utm_zone(-1.5, 52.0), utm_zone(151.2, -33.9)
    (32630, 32756)
    """
    zone = min(int((longitude + 180) // 6) + 1, 60)
    return (FIRST_NORTH if latitude >= 0 else FIRST_SOUTH) + zone


def _gauge(part: Section, crs: CRS | None) -> Gauge | None:
    level_m = part.number(
        "level_m", low=-20, high=30, advice="give the board's reading in metres"
    )
    zero_m = part.number(
        "zero_m",
        low=-500,
        high=6000,
        advice="give the elevation of the board's zero in the bed's datum, metres",
    )
    slope = _slope(part)
    place = _gauge_place(part, crs)
    if level_m is None or zero_m is None or place is None:
        return None
    return Gauge(
        level_m=level_m,
        zero_m=zero_m,
        easting=place[0],
        northing=place[1],
        slope=slope,
    )


def _slope(part: Section) -> float | None:
    if not part.has("slope"):
        return None
    return part.number(
        "slope",
        low=1e-6,
        high=STEEPEST,
        advice="give metres of fall a metre, as 0.0006, or leave it out to have it "
        "estimated",
    )


def _gauge_place(part: Section, crs: CRS | None) -> tuple[float, float] | None:
    metres = part.has("x") or part.has("y")
    if metres and (part.has("lon") or part.has("lat")):
        part.refuse(
            "two-coordinate-styles",
            "lon",
            "the gauge has both x,y and lon,lat",
            "keep one pair of coordinates",
        )
        return None
    advice = "say where the board stands, as x and y in the survey's CRS, or lon, lat"
    if metres or not (part.has("lon") or part.has("lat")):
        x = part.number("x", low=-1e8, high=1e8, advice=advice)
        y = part.number("y", low=-1e8, high=1e8, advice=advice)
        return None if x is None or y is None else (x, y)
    longitude = part.number("lon", low=-180, high=180, advice=advice)
    latitude = part.number("lat", low=-90, high=90, advice=advice)
    if longitude is None or latitude is None or crs is None:
        return None
    east, north = to_metres([longitude], [latitude], crs)
    return float(east[0]), float(north[0])


def _rating(
    values: dict[str, Any], gauge: Gauge | None, problems: ProblemList
) -> Rating | None:
    if "rating" not in values:
        return None
    part = Section("rating", values["rating"], problems)
    advice = "give the a, b and offset_m of Q = a * (level - offset_m) ** b"
    a = part.number("a", low=1e-9, high=1e9, advice=advice)
    b = part.number("b", low=0.1, high=10, advice=advice)
    offset_m = part.number("offset_m", low=-50, high=50, advice=advice)
    if a is None or b is None or offset_m is None:
        return None
    if gauge is not None and gauge.level_m <= offset_m:
        part.refuse(
            "rating-dry",
            "offset_m",
            f"at today's level of {gauge.level_m:g} m this rating gives no flow",
            "offset_m is the level at which the flow stops, below today's level",
        )
        return None
    return Rating(a=a, b=b, offset_m=offset_m)


def _season(values: dict[str, Any], problems: ProblemList) -> Season | None:
    if "season" not in values:
        return None
    part = Section("season", values["season"], problems)
    closed = part.values.get("closed")
    days = [month_day(str(day)) for day in closed] if isinstance(closed, list) else []
    note = part.values.get("note", "")
    first, last = days if len(days) == 2 else (None, None)  # noqa: PLR2004  # a span
    if first is None or last is None:
        part.refuse(
            "not-a-month-day",
            "closed",
            "the closed season is not two days of the year",
            'write the first and last closed day, as closed = ["03-15", "06-15"]',
        )
        return None
    return Season(first_closed=first, last_closed=last, note=str(note))
