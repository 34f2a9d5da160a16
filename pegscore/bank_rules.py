"""Where a plan may put no peg, and why.

The clearance of overhead lines is published advice (``pegscore.cautions``); the
other distances are common practice without a source [C], as there. The rules speak
of the survey's places alone: a hazard that is missing is no proof of safety.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from pegscore.cautions import LINE_CLEARANCE_M, NEAR_M
from pegscore.errors import LayoutRefused
from pegscore.reach import NO_FISHING_M
from pegscore.seasons import in_force
from pegscore.wording import place_days, place_name

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Shapes = NDArray[np.object_]

KEPT_CLEAR_M = {
    kind: NEAR_M[kind] for kind in ("weir", "outfall", "steep_bank", "soft_bank")
}
"""No peg is planned nearer than this to these, or where the swim holds them [C].

A deep margin is a caution beside the peg, not a reason against it [P]."""

BARRING = ("overhead_line", "no_fishing")
"""Nobody may fish there at all; the other rules are about where to put a peg."""

CONFIDENTIAL = "kept free by the club"
"""What those who are not the committee are told in place of a spawning ground."""

AREAS = ("Polygon", "MultiPolygon")


def checked_clearance(clearance_m: float) -> float:
    """Return the clearance of overhead lines, never below the published advice.

    Raises
    ------
    LayoutRefused
        If it is less than ``LINE_CLEARANCE_M``, or not a number.
    """
    if not clearance_m >= LINE_CLEARANCE_M:
        message = (
            f"a clearance of {clearance_m:g} m from overhead lines is less than the "
            f"{LINE_CLEARANCE_M:g} m that the Energy Networks Association advises "
            "(rods, poles and wet line conduct, and electricity jumps); give "
            f"{LINE_CLEARANCE_M:g} or more"
        )
        raise LayoutRefused(message)
    return clearance_m


def exclusions(
    seats: gpd.GeoDataFrame,
    places: gpd.GeoDataFrame | None,
    *,
    clearance_m: float = LINE_CLEARANCE_M,
    date: dt.date | None = None,
) -> list[dict[str, str]]:
    """Return, for each seat, the rules that forbid a peg there.

    Parameters
    ----------
    seats : GeoDataFrame
        Points where anglers would sit, with their ``swim``.
    places : GeoDataFrame or None
        The survey's places in the seats' system.
    clearance_m : float, default=30
        Of overhead lines, from the seat; a line over the swim forbids too.
    date : datetime.date, optional
        Spawning grounds forbid in their season; without a date, all year.

    Returns
    -------
    list of dict of str to str
        For each seat the kind of place to the reason in words; empty where nothing
        in the data forbids a peg.
    """
    points = np.asarray(seats.geometry.array, object)
    swims = np.asarray(seats["swim"].array, object)
    found: list[dict[str, str]] = [{} for _ in points]
    for dry in np.flatnonzero(shapely.is_empty(swims)):
        found[dry]["water"] = "no water within reach"
    shapely.prepare(swims)
    for place in () if places is None else places.itertuples():
        shape = np.array([place.geometry], object)
        away_m = shapely.distance(points, shape)
        reached = shapely.intersects(swims, shape)
        for seat, text in _forbidden(place, away_m, reached, clearance_m, date):
            found[seat].setdefault(str(place.kind), text)
    return found


def _forbidden(
    place: object,
    away_m: Floats,
    reached: Bools,
    clearance_m: float,
    date: dt.date | None,
) -> Iterator[tuple[int, str]]:
    """Tell of one place which seats it forbids and in which words."""
    kind = str(getattr(place, "kind", ""))
    if kind == "no_fishing":
        text = f"no-fishing area{place_name(place)}"
        for seat in np.flatnonzero(_held(getattr(place, "geometry", None), away_m)):
            yield int(seat), text
    elif kind == "spawning" and in_force(place, date):
        for seat in np.flatnonzero(reached):
            yield int(seat), f"spawning gravel within reach{_days(place)}"
    elif kind == "overhead_line" or kind in KEPT_CLEAR_M:
        least_m = KEPT_CLEAR_M.get(kind, clearance_m)
        for seat in np.flatnonzero((away_m < least_m) | reached):
            near = "in the swim" if reached[seat] else _floored(away_m[seat])
            words = kind.replace("_", " ")
            yield int(seat), f"{words} {near}, {_why(kind, least_m)}"


def _why(kind: str, least_m: float) -> str:
    if kind == "overhead_line":
        return f"{least_m:g} m are kept"
    return f"{least_m:g} m are kept (common practice, no source)"


def _held(shape: BaseGeometry | None, away_m: Floats) -> Bools:
    """Say which seats a no-fishing place holds; lines and points are widened."""
    is_area = shape is not None and shape.geom_type in AREAS
    return np.asarray(away_m == 0 if is_area else away_m < NO_FISHING_M)


def _days(place: object) -> str:
    days = place_days(place)
    return f" ({days})" if days else ""


def _floored(away_m: float) -> str:
    """Write metres rounded down, so that none reads as safer than it is."""
    return f"{np.floor(away_m * 10) / 10:g} m away"
