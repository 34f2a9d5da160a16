"""Where the rows of a table lie: coordinates in, metres of the survey's CRS out.

Catches the usual slips: swapped columns, degrees taken for metres, points that
are nowhere near the river.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
import shapely
from pyproj import CRS, Proj, Transformer

from layers.columns import LIMITS
from layers.river import WGS84

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray
    from shapely import LineString, Polygon

    from layers.river import River
    from layers.sheet import Sheet

FAR_M = 50.0
"""Beyond this from the water a point is an error, not a slip of the hand."""

NEAR_M = 2.0
"""Up to this from the water a point counts as in it: a tape's and a GPS's error."""

MOST = 0.5
"""Above this share of the rows it is the file that is wrong, not the rows."""


HALF_TURN = 180.0
"""No coordinate in degrees is larger than this."""


class Pair(NamedTuple):
    """The two columns of a coordinate and whether they are degrees."""

    east: str
    north: str
    degrees: bool


STARTS = (Pair("x", "y", degrees=False), Pair("lon", "lat", degrees=True))
ENDS = (Pair("x2", "y2", degrees=False), Pair("lon2", "lat2", degrees=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What is known of the river while its tables are read; None is not known."""

    crs: CRS | None = None
    river: River | None = None
    centreline: LineString | None = None
    water: Polygon | None = None


@lru_cache(maxsize=8)
def _from_degrees(crs: CRS) -> Transformer:
    return Transformer.from_crs(WGS84, crs, always_xy=True)


def to_metres(
    longitude: ArrayLike, latitude: ArrayLike, crs: CRS
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return easting and northing in ``crs`` of WGS 84 degrees.

    ``NaN`` where the projection does not reach.

    Examples
    --------
    >>> east, north = to_metres([3.0], [0.0], CRS("EPSG:32631"))  # its origin
    >>> round(float(east[0]), 3), round(float(north[0]), 3)
    (500000.0, 0.0)
    """
    east, north = _from_degrees(crs).transform(
        np.asarray(longitude, np.float64), np.asarray(latitude, np.float64)
    )
    lost = ~(np.isfinite(east) & np.isfinite(north))
    return np.where(lost, np.nan, east), np.where(lost, np.nan, north)


def scale_at(easting: float, northing: float, crs: CRS) -> float:
    """Return how long a metre on the ground is drawn in ``crs``, at its worst.

    Examples
    --------
    >>> round(scale_at(500_000, 0, CRS("EPSG:32631")), 4)  # UTM's scale factor
    0.9996
    """
    back = Transformer.from_crs(crs, WGS84, always_xy=True)
    longitude, latitude = back.transform(easting, northing)
    factors = Proj(crs).get_factors(longitude, latitude)
    scales = (factors.meridional_scale, factors.parallel_scale)
    return float(max(scales, key=lambda scale: abs(scale - 1)))


def look_like_degrees(easting: ArrayLike, northing: ArrayLike, water: Polygon) -> bool:
    """Say whether all pairs could be degrees while the water lies far from there."""
    east = np.asarray(easting, np.float64)
    north = np.asarray(northing, np.float64)
    if not (np.abs([east, north]) <= HALF_TURN).all():
        return False
    globe = shapely.box(-HALF_TURN, -HALF_TURN, HALF_TURN, HALF_TURN)
    return bool(shapely.distance(globe, water) > FAR_M)


def find_pair(
    sheet: Sheet, pairs: Sequence[Pair] = STARTS, *, required: bool = True
) -> Pair | None:
    """Return the coordinate columns that a sheet has, noting what is wrong."""
    touched = [pair for pair in pairs if sheet.has(pair.east) or sheet.has(pair.north)]
    if len(touched) > 1:
        sheet.refuse_file(
            "two-coordinate-styles",
            "the file has both "
            + " and ".join(f"{pair.east},{pair.north}" for pair in touched),
            "keep one pair of coordinate columns",
            column=touched[1].east,
        )
        return None
    if not touched:
        if required:
            sheet.require(pairs[0].east, pairs[0].north)
        return None
    pair = touched[0]
    return pair if sheet.require(pair.east, pair.north) else None


class Placed(NamedTuple):
    """Places of a sheet's rows, and where they would be with swapped columns.

    Both are DataFrames of ``easting, northing`` (metres), ``NaN`` where refused.
    """

    here: pd.DataFrame
    swapped: pd.DataFrame
    pair: Pair


def place(
    sheet: Sheet,
    stretch: Stretch,
    pairs: Sequence[Pair] = STARTS,
    *,
    required: bool = True,
) -> Placed | None:
    """Return where every row of a sheet lies.

    Returns
    -------
    Placed or None
        None where the sheet has no usable coordinate columns, or degrees cannot
        be turned into metres because the CRS is not known.
    """
    pair = find_pair(sheet, pairs, required=required)
    if pair is None:
        return None
    if required:
        sheet.refuse_empty(pair.east)
        sheet.refuse_empty(pair.north)
    if pair.degrees and _metres_in_degrees(sheet, pair):
        return None
    east, north = _coordinates(sheet, pair)
    here = _placed(east, north, pair, stretch)
    swapped = _placed(north, east, pair, stretch)
    if here is None or swapped is None:
        return None
    if not pair.degrees and _degrees_in_metres(sheet, here, pair, stretch):
        return None
    return Placed(here, swapped, pair)


def _coordinates(sheet: Sheet, pair: Pair) -> tuple[pd.Series, pd.Series]:
    if not pair.degrees:
        return sheet.numbers(pair.east), sheet.numbers(pair.north)
    return (
        sheet.numbers(pair.east, limit=LIMITS["lon"]),
        sheet.numbers(pair.north, limit=LIMITS["lat"]),
    )


def _metres_in_degrees(sheet: Sheet, pair: Pair) -> bool:
    text = sheet.text(pair.east)
    values = pd.to_numeric(text, errors="coerce").abs()
    if not (values.median() > 2 * HALF_TURN):
        return False
    sheet.refuse_file(
        "metres-as-degrees",
        f"the values of {pair.east} and {pair.north} are too large for degrees",
        "if they are metres in the survey's CRS, rename the columns to "
        f"{pair.east.replace('lon', 'x')} and {pair.north.replace('lat', 'y')}",
        column=pair.east,
    )
    return True


def _placed(
    east: pd.Series, north: pd.Series, pair: Pair, stretch: Stretch
) -> pd.DataFrame | None:
    if not pair.degrees:
        return pd.DataFrame({"easting": east, "northing": north})
    if stretch.crs is None:
        return None
    easting, northing = to_metres(east, north, stretch.crs)
    return pd.DataFrame({"easting": easting, "northing": northing}, index=east.index)


def _degrees_in_metres(
    sheet: Sheet, here: pd.DataFrame, pair: Pair, stretch: Stretch
) -> bool:
    known, water = here.dropna(), stretch.water
    if known.empty or water is None:
        return False
    if not look_like_degrees(known.easting, known.northing, water):
        return False
    sheet.refuse_file(
        "degrees-as-metres",
        f"{pair.east} and {pair.north} look like longitude and latitude, but the "
        "channel lies elsewhere",
        "if they are WGS 84 degrees, rename the columns to "
        f"{pair.east.replace('x', 'lon')} and {pair.north.replace('y', 'lat')}",
        column=pair.east,
    )
    return True


def within(placed: pd.DataFrame, water: Polygon, distance_m: float) -> pd.Series:
    """Say which places lie in the water or up to ``distance_m`` from it."""
    shapely.prepare(water)
    known = placed.notna().all(axis="columns").to_numpy()
    here = placed[known]
    points = shapely.points(here.easting.to_numpy(), here.northing.to_numpy())
    near = np.zeros(len(placed), bool)
    near[known] = shapely.dwithin(water, points, distance_m)
    return pd.Series(near, index=placed.index)
