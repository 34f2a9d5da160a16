"""The run line: where a float is trotted, and what the water is like along it.

The line keeps the share of the river's flow that passes between it and the own bank,
as a streamline does, so that it bends with the channel, gives way to a bar and draws
in where the water gathers. It starts above the peg and goes on below the swim, for
that is where feed may come from and go to.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from layers.hydraulics import power_law_mean
from pegscore.errors import PegError
from pegscore.layer_points import layer_at
from pegscore.reach import follow_banks
from pegscore.stream_trace import trace_streamline

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from layers.channel import Channel
    from layers.stack import Stack
    from pegscore.methods import Method

    Floats = NDArray[np.float64]

STEP_M = 1.0
"""The line's points lie this far apart."""

ABOVE_M, BELOW_M = 15.0, 40.0
"""How far the line goes on above and below the method's reach; our proposal."""

PROFILE_EXPONENT = 6.0
"""The ``m`` of the profile between depth mean and surface; see
``layers.hydraulics.power_law_speed``."""

WADING_M = 0.05
"""Water shallower than this floats nothing; as ``layers.conveyance.DRY_M``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """The run line's points, upstream first; arrays of one length.

    Parameters
    ----------
    along_m : array of float
        Metres down the line; 0 abreast of the peg, negative upstream.
    out_m : array of float
        Metres from the water's edge on the peg's side.
    easting, northing, chainage_m : array of float
    depth_m, depth_sd_m, speed_m_s, speed_sd_m_s : array of float
        Depth, depth-mean speed and their standard errors; ``NaN`` unknown or dry.
    bottom : tuple of str
        The commonest class of bottom, empty where unknown.
    bottom_share : array of float
        Its share.
    fished : array of bool
        The part in the swim: one piece, the nearest to the peg; all False where
        there is no water in reach.
    """

    along_m: Floats
    out_m: Floats
    easting: Floats
    northing: Floats
    chainage_m: Floats
    depth_m: Floats
    depth_sd_m: Floats
    speed_m_s: Floats
    speed_sd_m_s: Floats
    bottom: tuple[str, ...]
    bottom_share: Floats
    fished: NDArray[np.bool_]

    def pass_s(self, from_m: float, to_m: float) -> float:
        """Return how long a float let go takes between two places, seconds.

        It goes with the surface, which is ``(m + 1) / m`` times as fast as the depth
        mean; ``NaN`` where the pace is unknown or the water stands.
        """
        places = np.linspace(from_m, to_m, max(2, round(to_m - from_m) * 4 + 1))
        surface = np.interp(places, self.along_m, self.speed_m_s)
        surface /= power_law_mean(PROFILE_EXPONENT)
        if not np.all(surface > 0):
            return float("nan")
        return float(np.trapezoid(1.0 / surface, places))


@dataclass(frozen=True, slots=True, kw_only=True)
class SwimFrame:
    """Measures places as an angler does: metres out and metres down the run line."""

    channel: Channel
    chainage_m: Floats
    edge_m: Floats
    along_m: Floats
    outwards: float

    def measure(self, easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
        """Return metres out from the peg's bank and metres down the run line."""
        chainage_m, offset_m = self.channel.to_channel(easting, northing)
        edge_m = np.interp(chainage_m, self.chainage_m, self.edge_m)
        down_m = np.interp(
            chainage_m, self.chainage_m, self.along_m, left=np.nan, right=np.nan
        )
        return (offset_m - edge_m) * self.outwards, down_m


def usual_distance_m(method: Method) -> float:
    """Return the distance out where nobody chose: the middle of the method's reach."""
    return (method.out_from_m + method.out_to_m) / 2


def find_run_line(
    peg: gpd.GeoDataFrame,
    *,
    stack: Stack,
    channel: Channel,
    method: Method,
    level_m: float,
    distance_out_m: float | None = None,
) -> tuple[RunLine, SwimFrame]:
    """Return the run line before one peg, and the frame to measure its swim in.

    Parameters
    ----------
    peg : GeoDataFrame
        One row of ``pegscore.pegs.place_pegs`` with its ``swim``.
    stack, channel, method
        The layers, the river's coordinates and the way of fishing.
    level_m : float
        A level of the stack.
    distance_out_m : float, optional
        Out from the water's edge abreast of the peg; where the river is narrower it
        is cut short of the far bank. Default: the middle of the method's reach.

    Raises
    ------
    PegError
        If the distance is not a number above zero.
    LevelMissing
        If the level was not built.
    """
    wanted_m = usual_distance_m(method) if distance_out_m is None else distance_out_m
    if not (np.isfinite(wanted_m) and wanted_m > 0):
        message = f"the run line is {wanted_m} m out; give metres above 0"
        raise PegError(message)
    stations_m = _stations(peg, channel, method)
    banks = follow_banks(peg, channel, stations_m)
    out_m = trace_streamline(
        banks, stations_m, wanted_m, stack=stack, channel=channel, level_m=level_m
    )
    offset_m = banks.near_m[0] + banks.outwards[0] * out_m
    east, north = channel.to_world(banks.chainage_m[0], offset_m)
    walked_m = np.concatenate(
        [[0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))]
    )
    along_m = walked_m - np.interp(0.0, stations_m, walked_m)
    frame = SwimFrame(
        channel=channel,
        chainage_m=banks.chainage_m[0],
        edge_m=banks.near_m[0],
        along_m=along_m,
        outwards=float(banks.outwards[0]),
    )
    places = _even(along_m, (east, north, out_m, banks.chainage_m[0]))
    return _surveyed(places, peg["swim"].iloc[0], stack, level_m), frame


def _stations(peg: gpd.GeoDataFrame, channel: Channel, method: Method) -> Floats:
    """Return metres down the axis from the peg's edge, kept within the channel."""
    (start_m,), _ = channel.to_channel(peg["edge_easting"], peg["edge_northing"])
    up_m = min(method.up_m + ABOVE_M, max(start_m - STEP_M, STEP_M))
    down_m = min(
        method.down_m + BELOW_M, max(channel.length_m - start_m - STEP_M, STEP_M)
    )
    stations: Floats = np.arange(-np.floor(up_m), np.floor(down_m) + 1.0) * STEP_M
    return stations


def _even(along_m: Floats, columns: tuple[Floats, ...]) -> tuple[Floats, ...]:
    """Return the line's columns at whole metres down it."""
    first, last = np.ceil(along_m[0]), np.floor(along_m[-1])
    even = np.arange(first, last + STEP_M / 2, STEP_M)
    return (even, *(np.interp(even, along_m, column) for column in columns))


def _surveyed(
    places: tuple[Floats, ...], swim: BaseGeometry, stack: Stack, level_m: float
) -> RunLine:
    along_m, east, north, out_m, chainage_m = places
    depth_m, speed_m_s, speed_sd_m_s, depth_sd_m = (
        layer_at(stack, name, east, north, level_m=level_m)
        for name in ("depth", "speed", "speed_sd", "bed_sd")
    )
    words, share = _bottom(stack, east, north, level_m)
    afloat = depth_m > WADING_M
    return RunLine(
        along_m=along_m,
        out_m=out_m,
        easting=east,
        northing=north,
        chainage_m=chainage_m,
        depth_m=depth_m,
        depth_sd_m=depth_sd_m,
        speed_m_s=speed_m_s,
        speed_sd_m_s=speed_sd_m_s,
        bottom=words,
        bottom_share=share,
        fished=_nearest_piece(afloat & shapely.contains_xy(swim, east, north), along_m),
    )


def _bottom(
    stack: Stack, east: Floats, north: Floats, level_m: float
) -> tuple[tuple[str, ...], Floats]:
    """Return the commonest class at each place and its share."""
    names = ("", *stack.substrates)
    shares = [np.full(east.shape, -1.0)]
    shares += [
        np.nan_to_num(layer_at(stack, name, east, north, level_m=level_m), nan=-1.0)
        for name in stack.substrates
    ]
    most = np.argmax(shares, axis=0)
    share = np.max(shares, axis=0)
    return tuple(names[index] for index in most), np.where(share < 0, np.nan, share)


def _nearest_piece(fished: NDArray[np.bool_], along_m: Floats) -> NDArray[np.bool_]:
    """Keep of a broken run the one piece nearest to the peg."""
    labels, count = ndimage.label(fished)
    if not count:
        return fished
    away = [np.abs(along_m[labels == label]).min() for label in range(1, count + 1)]
    kept: NDArray[np.bool_] = labels == 1 + int(np.argmin(away))
    return kept
