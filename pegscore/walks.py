"""The walk to each peg, as far as the survey's places tell it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from shapely import LineString
from shapely.ops import substring

if TYPE_CHECKING:
    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

PATHS = ("path", "step_free_path")
"""Places that people walk along with rods in their hands."""


def walks(
    pegs: gpd.GeoDataFrame, places: gpd.GeoDataFrame
) -> list[BaseGeometry | None]:
    """Return what people walk to each peg: its nearest path from the parking on.

    Parameters
    ----------
    pegs : GeoDataFrame
        Points where anglers sit.
    places : GeoDataFrame
        ``kind`` and geometry in the pegs' system.

    Returns
    -------
    list of geometry or None
        The part of the nearest path between the places nearest to the peg and to
        its nearest parking; the whole path where there is no parking; the parking
        itself where there is no path; None where there is neither.

    Notes
    -----
    Only one path and one parking are looked at; a walk over several is not known.
    """
    kinds = places["kind"].astype(str)
    paths = list(places.geometry[kinds.isin(PATHS)])
    parkings = _parkings(places)
    return [_walk(seat, paths, parkings) for seat in pegs.geometry]


def walk_lengths(
    pegs: gpd.GeoDataFrame, places: gpd.GeoDataFrame | None
) -> pd.DataFrame:
    """Return how far it is to each peg, and who says so.

    Parameters
    ----------
    pegs : GeoDataFrame
        Points where anglers sit and, where the club gave it, ``walk_m``.
    places : GeoDataFrame or None
        ``kind`` and geometry in the pegs' system.

    Returns
    -------
    DataFrame, index as ``pegs``
        ``walk_m``, metres; ``walk_basis``: ``club`` as the pegs file says,
        ``straight line`` from the nearest parking, which is the least it can be, or
        empty where neither is known (``NaN``).
    """
    told = pd.to_numeric(pegs.get("walk_m", pd.Series(np.nan, index=pegs.index)))
    parkings = [] if places is None else _parkings(places)
    straight = pd.Series(
        [min(map(seat.distance, parkings), default=np.nan) for seat in pegs.geometry],
        index=pegs.index,
    )
    basis = np.select(
        [told.notna(), straight.notna()], ["club", "straight line"], default=""
    )
    return pd.DataFrame({"walk_m": told.fillna(straight), "walk_basis": basis})


def _parkings(places: gpd.GeoDataFrame) -> list[BaseGeometry]:
    return list(places.geometry[places["kind"].astype(str) == "parking"])


def _walk(
    seat: BaseGeometry, paths: list[BaseGeometry], parkings: list[BaseGeometry]
) -> BaseGeometry | None:
    parking = _nearest(seat, parkings)
    path = _nearest(seat, paths)
    if path is None or parking is None:
        return path if path is not None else parking
    if not isinstance(path, LineString):
        return path
    start, end = sorted(path.project(place.centroid) for place in (seat, parking))
    walked: BaseGeometry = substring(path, start, end)
    return walked


def _nearest(seat: BaseGeometry, shapes: list[BaseGeometry]) -> BaseGeometry | None:
    return min(shapes, key=seat.distance) if shapes else None
