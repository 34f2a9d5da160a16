"""Soundings: from what was dropped in the water to points of the bed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy.spatial import cKDTree

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from layers.channel import Channel

    Array = NDArray[np.float64]

SOUNDING_SD_M = 0.05
"""A weighted line's or castable sounder's error: common practice, no source."""

SPIKE_FACTOR = 6.0
"""Robust standard deviations that make a spike: common practice, no source."""

SPIKE_FLOOR_M = 0.5
"""A step below this is never a spike, so scour holes live: our own choice."""

SURROUNDINGS = 24
"""Values round a value that tell how broken the bed is there: our own choice."""

BROKEN_FACTOR = 3.0
"""A spike misses by this many times what nine in ten around it miss by: our own
choice. On a real bed with sills and groynes it leaves 3 of 1,788 true soundings
flagged instead of 45, and still finds false echoes on a smooth one."""

SAME_PLACE_M = 0.05
"""Soundings closer than this are one place and are averaged: our own choice."""

ALONG_STRETCH = 5.0
"""A bed changes about this much slower along than across, [P] our own
trial on a simulated river. Merwade, Maidment & Goff 2006 (J. Hydrol. 331:731) [S]
show the gain of following the flow, not this number."""

MAD_TO_SD = 1.4826
"""Median absolute deviation to standard deviation of a normal law."""


class WaterElevation(Protocol):
    """Whatever knows the water's elevation at a chainage and a board's reading."""

    def elevation_m(self, chainage_m: ArrayLike, level_m: ArrayLike) -> Array:
        """Return the water surface's elevation, metres."""
        ...


def find_spikes(
    first_m: ArrayLike,
    second_m: ArrayLike,
    value_m: ArrayLike,
    *,
    neighbours: int = 8,
    factor: float = SPIKE_FACTOR,
    floor_m: float = SPIKE_FLOOR_M,
) -> NDArray[np.bool_]:
    """Return which values stand out from their neighbours.

    Each value is held against the plane through its neighbours, fitted so that
    single bad neighbours do not count. It is a spike when it misses by more than
    ``floor_m``, by more than ``factor`` robust standard deviations, both of its
    neighbours about their plane and of all values about theirs, and by more than
    ``BROKEN_FACTOR`` times what is usual around it. A hole that several soundings
    saw is therefore not a spike, nor one step among many at a sill. Unknown
    values never are.

    Parameters
    ----------
    first_m, second_m : array-like of shape (n,)
        Any two coordinates of the places, metres. For soundings: chainage over
        ``ALONG_STRETCH``, and offset.
    value_m : array-like of shape (n,)
        Depth or bed elevation, metres.
    neighbours : int, default=8
        How many to hold a value against. With fewer than six known values in
        all, nothing is flagged.
    factor : float, default=6
        Robust standard deviations.
    floor_m : float, default=0.5
        Metres.

    Examples
    --------
    >>> along = np.arange(12.0)
    >>> depth_m = np.array([1, 1, 1, 1, 1, 9, 1, 1, 1, 1, 1, 1.0])
    >>> np.flatnonzero(find_spikes(along, 0 * along, depth_m)).tolist()
    [5]
    """
    places = np.column_stack([np.ravel(first_m), np.ravel(second_m)]).astype(float)
    values = np.ravel(value_m).astype(float)
    known = np.flatnonzero(np.isfinite(values) & np.isfinite(places).all(axis=1))
    spikes = np.zeros(len(values), bool)
    fewest = 6
    if len(known) < fewest:
        return spikes
    miss_m, spread_m = _misses(places[known], values[known], neighbours)
    overall_m = MAD_TO_SD * float(np.median(np.abs(miss_m)))
    limit_m = np.maximum(factor * np.maximum(spread_m, overall_m), floor_m)
    limit_m = np.maximum(limit_m, BROKEN_FACTOR * _broken(places[known], miss_m))
    spikes[known] = np.abs(miss_m) > limit_m
    return spikes


def _misses(places: Array, values: Array, neighbours: int) -> tuple[Array, Array]:
    """Return each value less its neighbours' plane, and those neighbours' spread."""
    count = min(neighbours + 1, len(values))
    _, found = cKDTree(places).query(places, k=count)
    near = np.asarray(found)[:, 1:]
    design = np.dstack([places[near] - places[:, None, :], np.ones(near.shape)])
    scale = np.maximum(np.abs(design[:, :, :2]).max(axis=(1, 2)), 1e-9)
    design[:, :, :2] /= scale[:, None, None]
    plane = _robust_plane(design, values[near])
    spread_m = MAD_TO_SD * np.median(
        np.abs(values[near] - (design @ plane[:, :, None])[:, :, 0]), axis=1
    )
    return values - plane[:, 2], spread_m


def _broken(places: Array, miss_m: Array) -> Array:
    """Return what nine in ten values around each one miss by, at most."""
    count = min(SURROUNDINGS + 1, len(miss_m))
    _, found = cKDTree(places).query(places, k=count)
    around: Array = np.quantile(np.abs(miss_m)[np.asarray(found)[:, 1:]], 0.9, axis=1)
    return around


def _robust_plane(design: Array, values: Array, rounds: int = 6) -> Array:
    """Fit a plane to each row of neighbours by reweighted least squares, (n, 3)."""
    ridge = np.diag([0.05, 0.05, 1e-9])  # neighbours on one line leave a slope open
    middle = np.median(values, axis=1)
    plane = np.column_stack([np.zeros((len(values), 2)), middle])
    for _ in range(rounds):
        miss = np.abs(values - (design @ plane[:, :, None])[:, :, 0])
        typical = np.maximum(np.median(miss, axis=1), 1e-3)[:, None]
        weight = 1 / (1 + (miss / (2 * typical)) ** 2) ** 2
        moment = np.einsum("nki,nk,nkj->nij", design, weight, design) + ridge
        change = np.einsum("nki,nk,nk->ni", design, weight, values - middle[:, None])
        plane = np.linalg.solve(moment, change[:, :, None])[:, :, 0]
        plane[:, 2] += middle
    return plane


def bed_points(
    soundings: pd.DataFrame, channel: Channel, waterline: WaterElevation
) -> pd.DataFrame:
    """Turn soundings into points of the bed.

    Parameters
    ----------
    soundings : DataFrame
        ``easting, northing, depth_m, bed_m, level_m, sd_m`` as in ``Survey``.
    channel : Channel
        The river's own coordinates.
    waterline : Waterline
        The water's elevation by chainage and level: a sounding's bed is the
        water's elevation at its own place and time less its depth.

    Returns
    -------
    DataFrame
        ``easting, northing, chainage_m, offset_m, bed_m, sd_m, spike``, in the
        order and with the index of the first sounding of each place. Soundings
        of one place are averaged; ``sd_m`` is ``SOUNDING_SD_M`` where the club
        gave none. Soundings without a bed are left out.
    """
    points = soundings[["easting", "northing"]].astype(float)
    chainage_m, offset_m = channel.to_channel(points["easting"], points["northing"])
    water_m = waterline.elevation_m(chainage_m, soundings["level_m"].to_numpy(float))
    sounded_m = np.asarray(water_m) - soundings["depth_m"].to_numpy(float)
    given_m = soundings["bed_m"].to_numpy(float)
    points = points.assign(
        chainage_m=chainage_m,
        offset_m=offset_m,
        bed_m=np.where(np.isfinite(given_m), given_m, sounded_m),
        sd_m=soundings["sd_m"].astype(float).fillna(SOUNDING_SD_M),
    )
    points = _one_a_place(points[np.isfinite(points["bed_m"])])
    spike = find_spikes(
        points["chainage_m"] / ALONG_STRETCH, points["offset_m"], points["bed_m"]
    )
    return points.assign(spike=spike)


def _one_a_place(points: pd.DataFrame) -> pd.DataFrame:
    """Average the soundings of one place, keeping the first one's row."""
    place = (points[["easting", "northing"]] / SAME_PLACE_M).round()
    groups = points.groupby([place["easting"], place["northing"]], sort=False)
    if len(groups) == len(points):
        return points
    averaged = groups.mean()
    averaged["sd_m"] = groups["sd_m"].mean() / np.sqrt(groups.size())
    first = points[~place.duplicated()]
    return averaged.set_axis(first.index, axis=0)
