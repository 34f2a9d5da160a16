"""The water's surface along the stretch: one level and one slope.

A sounding is a depth below the water *there and then*. Over two kilometres at
0.0002 the surface falls 0.4 m, so the slope matters more than the way the bed is
interpolated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import theilslopes

from layers.hydraulics import DEFAULT_N, friction_slope, reach_conveyance
from layers.rating import flow_at

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from layers.channel import Channel
    from layers.river import Survey

FEWEST_SOUNDINGS = 10
"""Below this no slope is read from the bed (proposal)."""
FEWEST_IN_SECTION = 3
"""Soundings across the river that make a section (proposal)."""
MOST_SOUNDINGS = 1000
"""More are thinned evenly along the river: every pair of soundings is compared."""
CONFIDENCE = 0.8
UNKNOWN_SLOPE = (
    "water surface: taken as level, for nothing in the survey gives a slope; "
    "add slope to [gauge] in river.toml"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Waterline:
    """A water surface that falls evenly downstream and rises with the board.

    Parameters
    ----------
    gauge_chainage_m : float
        Where the gauge board stands along the river.
    zero_m : float
        Elevation of the board's zero.
    slope : float
        Fall per metre downstream, never negative.
    note : str
        Where the slope comes from, in plain words.

    Examples
    --------
    >>> line = Waterline(gauge_chainage_m=100, zero_m=20.0, slope=0.001, note="")
    >>> line.elevation_m([0, 100, 300], 0.5).round(3).tolist()
    [20.6, 20.5, 20.3]
    """

    gauge_chainage_m: float
    zero_m: float
    slope: float
    note: str

    def elevation_m(
        self, chainage_m: ArrayLike, level_m: ArrayLike
    ) -> NDArray[np.float64]:
        """Return the water's elevation at chainages when the board reads a level."""
        downstream_m = np.asarray(chainage_m, np.float64) - self.gauge_chainage_m
        elevation: NDArray[np.float64] = (
            self.zero_m + np.asarray(level_m) - self.slope * downstream_m
        )
        return elevation


def fit_waterline(survey: Survey, channel: Channel) -> Waterline:
    """Return the survey's water surface; its note says where the slope comes from.

    The slope is, in this order: the club's own; the robust trend of the bed along
    the river (Theil-Sen), where soundings are elevations; what Manning's formula
    needs to carry the discharge through the depths sounded; or none, a level
    pool, which is safer than a profile computed from a guess.

    Parameters
    ----------
    survey : Survey
        The survey as read.
    channel : Channel
        The river's own coordinates.
    """
    gauge = survey.river.gauge
    chainage_m, _ = channel.to_channel([gauge.easting], [gauge.northing])
    slope, note = (
        _given(gauge.slope)
        or _from_bed(survey, channel)
        or _from_discharge(survey, channel)
        or (0.0, UNKNOWN_SLOPE)
    )
    return Waterline(
        gauge_chainage_m=float(chainage_m[0]),
        zero_m=gauge.zero_m,
        slope=slope,
        note=note,
    )


def _given(slope: float | None) -> tuple[float, str] | None:
    if slope is None:
        return None
    if slope < 0:
        return 0.0, (
            f"water surface: the slope in river.toml is {slope:g}, uphill; taken as "
            "level; write the fall per metre as a positive number"
        )
    return slope, f"water surface: falls {slope:g} m per metre, as river.toml says"


def _from_bed(survey: Survey, channel: Channel) -> tuple[float, str] | None:
    """Read the slope from the trend of soundings that are elevations."""
    if survey.soundings is None:
        return None
    known = survey.soundings.dropna(subset=["bed_m"])
    if len(known) < FEWEST_SOUNDINGS:
        return None
    chainage_m, _ = channel.to_channel(
        known["easting"].to_numpy(float), known["northing"].to_numpy(float)
    )
    bed_m = known["bed_m"].to_numpy(float)
    order = np.lexsort((bed_m, chainage_m))
    order = order[
        np.linspace(0, order.size - 1, min(order.size, MOST_SOUNDINGS), dtype=int)
    ]
    trend = theilslopes(bed_m[order], chainage_m[order], alpha=CONFIDENCE)
    fall, least, most = -float(trend[0]), -float(trend[3]), -float(trend[2])
    said = (
        f"water surface: slope not given; the bed falls {fall:.5f} m per metre "
        f"along {len(known)} soundings (80 % interval {least:.5f} to {most:.5f})"
    )
    if fall <= 0:
        return 0.0, f"{said}: not downstream, so the surface is taken as level"
    return fall, f"{said} and the surface is taken to fall with it"


def _from_discharge(survey: Survey, channel: Channel) -> tuple[float, str] | None:
    """Find the slope that carries the gauged discharge through the sounded depths."""
    level_m = survey.river.gauge.level_m
    flow = flow_at(level_m, survey.river.rating, survey.flows)
    if flow is None or survey.soundings is None or not flow.flow_m3_s > 0:
        return None
    carried = _sounded_conveyance(survey.soundings, channel, level_m=level_m)
    if carried is None:
        return None
    slope = friction_slope(flow.flow_m3_s, carried)
    return slope, (
        f"water surface: slope not given; {slope:.5f} m per metre carries the "
        f"{flow.flow_m3_s:.3g} m3/s ({flow.source}) through the sounded depths with "
        f"Manning n {DEFAULT_N} (Chow 1959); a rough estimate"
    )


def _sounded_conveyance(
    soundings: pd.DataFrame, channel: Channel, *, level_m: float
) -> float | None:
    """Return the reach's conveyance at a level from depths, m³/s.

    Soundings are taken together by stretches one channel width long; stretches
    with few are passed over.
    """
    known = soundings.dropna(subset=["depth_m"])
    rise_m = level_m - known["level_m"].to_numpy(float)
    depth_m = np.clip(known["depth_m"].to_numpy(float) + rise_m, 0.0, None)
    chainage_m, _ = channel.to_channel(
        known["easting"].to_numpy(float), known["northing"].to_numpy(float)
    )
    if depth_m.size < FEWEST_SOUNDINGS:
        return None
    width_m = channel.width_m(chainage_m)
    number = np.floor(chainage_m / np.median(width_m)).astype(np.int64)
    _, place, count = np.unique(number, return_inverse=True, return_counts=True)
    strips = width_m * depth_m ** (5 / 3) / DEFAULT_N
    carried = np.bincount(place, weights=strips) / count
    enough = carried[(count >= FEWEST_IN_SECTION) & (carried > 0)]
    return reach_conveyance(enough) if enough.size else None
