"""Hazards near a peg: what bars it, what to watch, and what nobody may be told.

Distances are along the ground from where the angler sits, metres. Only the
overhead-line clearance is published; the others are how near a thing has to be
before it is worth a word (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from pegscore.errors import PegError
from pegscore.reach import NO_FISHING_M
from pegscore.seasons import in_force
from pegscore.walks import walks
from pegscore.wording import GUIDE, NO_PROOF, day_text, place_days, place_name

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

LINE_CLEARANCE_M = 30.0
"""Nearer than this to an overhead line nobody fishes.

Energy Networks Association, and a network operator's safety officer, as reported:
at least 30 m from any power line (``ena`` and ``yorkpress`` in sources.toml).
"""

LINE_NOTICE_M = 60.0
"""Nearer than this a line is mentioned: the way to the peg may pass below it. Our
own proposal, no source."""

NEAR_M = {
    "weir": 15.0,
    "outfall": 15.0,
    "steep_bank": 5.0,
    "soft_bank": 5.0,
    "deep_margin": 5.0,
}
"""How near a hazard must be to be mentioned (common practice, no source)."""

WARNINGS = {
    "weir": "weir {near}: undertow and fast water, keep clear of the sill",
    "outfall": "outfall {near}: flow and depth can change without warning",
    "steep_bank": "steep bank {near}: mind the edge",
    "soft_bank": "soft bank {near}: it may give way underfoot",
    "deep_margin": "deep margin {near}: no shelf to stand on if you slip in",
}
"""What is said of each, with the distance put in."""

IN_SWIM = {
    "snag": "snag in the swim{name}",
    "weed": "weed in the swim{days}",
    "tree": "tree over the swim{name}",
}
"""What is said of things that lie in the water in reach."""

GENERAL_CAUTIONS = (
    (
        "Keep at least 30 m from overhead power lines; rods, poles and wet line "
        "conduct, and electricity jumps. Take rods apart and carry them level."
    ),
    "Margins can be deep, soft, steep or undercut: test the ground before you use it.",
    (
        "Water can rise quickly and hide the edge. Leave in good time; never fish a "
        "flood that you cannot stand clear of."
    ),
    "Avoid fishing alone where a fall would not be seen; tell somebody where you are.",
    "Handle fish with wet hands, in or over water, for as short a time as you can.",
    "In hot weather stop early: warm water holds little oxygen, least at first light.",
    "Closed seasons, byelaws, licences and the club's rules come before this guide.",
    NO_PROOF,
    GUIDE,
)
"""What goes with every answer; usual caution, deferring to local rules."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One thing to know about a peg.

    Parameters
    ----------
    kind : str
        The kind of place it comes from.
    text : str
        A plain sentence part; names from files are left as they are.
    blocks : bool
        True if nobody may fish here because of it.
    members : bool
        False if members must not be told (spawning places).
    distance_m : float
        From the angler's seat; 0 inside.
    """

    kind: str
    text: str
    blocks: bool
    members: bool
    distance_m: float


def peg_cautions(
    pegs: gpd.GeoDataFrame,
    places: gpd.GeoDataFrame | None,
    *,
    date: dt.date | None = None,
) -> dict[str, tuple[Caution, ...]]:
    """Return what is to be known of each peg, nearest first, barring first.

    Parameters
    ----------
    pegs : GeoDataFrame
        Index: the peg's text. Points where anglers sit and, where there is one,
        the column ``swim``.
    places : GeoDataFrame or None
        ``kind, name, from_day, to_day`` and geometry in the pegs' own system.
    date : datetime.date, optional
        A seasonal no-fishing place bars in its days, without a date all year.

    Returns
    -------
    dict of str to tuple of Caution
        Every peg; an empty tuple means no hazard *in the data*. The days of a seasonal
        no-fishing place are always told, whether it bars or not.

    Raises
    ------
    PegError
        If the two lie in different systems, or a peg or place has no geometry:
        nothing could be measured, and silence would look safe.
    """
    found: dict[str, list[Caution]] = {str(peg): [] for peg in pegs.index}
    if places is not None and len(places) and len(pegs):
        _check(pegs, places)
        lines = list(places.geometry[places["kind"] == "overhead_line"])
        for peg, walk in zip(pegs.index, walks(pegs, places), strict=True):
            found[str(peg)].extend(_walk_under_line(walk, lines))
        seats = list(pegs.geometry)
        swims = list(pegs.get("swim", pegs.geometry))
        for place in places.itertuples():
            away = shapely.distance(seats, place.geometry)  # type: ignore[arg-type]
            for peg, swim, distance in zip(pegs.index, swims, away, strict=True):
                found[str(peg)].extend(_of(place, swim, float(distance), date))
    return {
        peg: tuple(sorted(items, key=lambda item: (not item.blocks, item.distance_m)))
        for peg, items in found.items()
    }


def _of(
    place: object, swim: BaseGeometry | None, distance_m: float, date: dt.date | None
) -> Iterator[Caution]:
    kind = str(getattr(place, "kind", ""))
    shape = getattr(place, "geometry", None)
    reached = _reached(swim, shape)
    if kind == "overhead_line":
        yield from _line(distance_m, _from_swim(swim, shape))
    elif kind == "no_fishing" and _holds(shape, distance_m):
        yield _no_fishing(place, distance_m, date)
    elif kind == "spawning" and reached:
        text = f"spawning gravel within reach{_days(place)}: leave it alone in season"
        yield _caution(kind, text, distance_m, members=False)
    elif kind in NEAR_M and (distance_m <= NEAR_M[kind] or reached):
        near = "in the swim" if reached else f"{_floored(distance_m)} m away"
        yield _caution(kind, WARNINGS[kind].format(near=near), distance_m)
    elif kind in IN_SWIM and reached:
        text = IN_SWIM[kind].format(name=place_name(place), days=_days(place))
        yield _caution(kind, text, distance_m)


def _no_fishing(place: object, distance_m: float, date: dt.date | None) -> Caution:
    bars = in_force(place, date)
    text = f"no-fishing area{place_name(place)}{_days(place)}"
    if date is not None and not bars:
        today = day_text((date.month, date.day))
        text += f": not in force on {today} by the survey; look for notices there"
    elif date is None and place_days(place):
        text += ": barred all year here, as no day was given"
    return _caution("no_fishing", text, distance_m, blocks=bars)


def _line(distance_m: float, swim_m: float) -> Iterator[Caution]:
    if distance_m < LINE_CLEARANCE_M or swim_m == 0:
        where = "over the swim" if swim_m == 0 else f"{_floored(distance_m)} m away"
        text = (
            f"overhead line {where}, nearer than the published {LINE_CLEARANCE_M:g} m"
        )
        yield _caution("overhead_line", text, distance_m, blocks=True)
    elif distance_m < LINE_NOTICE_M or swim_m < LINE_CLEARANCE_M:
        near = f", {_floored(swim_m)} m from the swim" if swim_m < distance_m else ""
        text = (
            f"overhead line {_floored(distance_m)} m away{near}: mind the way there, "
            "carry rods apart and level"
        )
        yield _caution("overhead_line", text, distance_m)


def _walk_under_line(
    walk: BaseGeometry | None, lines: list[BaseGeometry]
) -> Iterator[Caution]:
    """Warn of a line near the walk: the advice holds there too (``yorkpress``)."""
    if walk is None or not lines:
        return
    apart_m = min(walk.distance(line) for line in lines)
    if apart_m < LINE_CLEARANCE_M:
        near = f"comes within {_floored(apart_m)} m of" if apart_m > 0 else "crosses"
        text = f"an overhead line {near} the walk here: carry rods apart and level"
        yield _caution("overhead_line", text, apart_m)


def _check(pegs: gpd.GeoDataFrame, places: gpd.GeoDataFrame) -> None:
    if pegs.crs is not None and places.crs is not None and pegs.crs != places.crs:
        message = (
            f"places are in {places.crs.name!r} but pegs in {pegs.crs.name!r}; bring "
            "the places over with .to_crs(pegs.crs)"
        )
        raise PegError(message)
    for what, table in (("peg", pegs), ("place", places)):
        nowhere = table.index[table.geometry.isna() | table.geometry.is_empty]
        if len(nowhere):
            message = (
                f"{what} {nowhere.tolist()[0]!r} has no geometry, so nothing can "
                "be measured from it; draw it or take it out"
            )
            raise PegError(message)


def _caution(
    kind: str,
    text: str,
    distance_m: float,
    *,
    blocks: bool = False,
    members: bool = True,
) -> Caution:
    return Caution(
        kind=kind, text=text, blocks=blocks, members=members, distance_m=distance_m
    )


def _reached(swim: BaseGeometry | None, geometry: BaseGeometry | None) -> bool:
    """Say whether a place lies in the water in reach; a bare seat reaches nothing."""
    if geometry is None or swim is None or swim.geom_type == "Point":
        return False
    return bool(shapely.intersects(swim, geometry))


def _from_swim(swim: BaseGeometry | None, shape: BaseGeometry | None) -> float:
    """Return metres from the water in reach; infinite where there is none."""
    if shape is None or swim is None or swim.is_empty or swim.geom_type == "Point":
        return math.inf
    return float(shapely.distance(swim, shape))


def _holds(shape: BaseGeometry | None, distance_m: float) -> bool:
    """Say whether a no-fishing place holds a seat; lines and points are widened."""
    is_area = shape is not None and shape.geom_type in ("Polygon", "MultiPolygon")
    return distance_m == 0 if is_area else distance_m < NO_FISHING_M


def _floored(distance_m: float) -> str:
    """Write metres rounded down, so that none reads as safer than it is."""
    return f"{math.floor(distance_m * 10) / 10:g}"


def _days(place: object) -> str:
    days = place_days(place)
    return f" ({days})" if days else ""
