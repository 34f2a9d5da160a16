"""Where feed may land, given what is not known of the water and of the bait."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.bederror import Z_80
from layers.hydraulics import DEFAULT_N, GRAVITY_M_S2
from pegscore.drift import landing_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from pegscore.baits import Settling
    from pegscore.drift import Stream

    Floats = NDArray[np.float64]

MIXING = 0.15
"""Mixing over ``u* h``: Fischer and others (1979), Mixing in Inland and Coastal
Waters, transverse, straight channels (from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Landing:
    """Where one bait meets the bottom, metres down the line.

    Parameters
    ----------
    from_m, at_m, to_m : float
        An 80 % range and its middle; ``NaN`` where it cannot be told: the bait
        floats, the water there is unknown, or it lands beyond the line's end.
    falls_s : float
        Seconds on the way.
    """

    from_m: float
    at_m: float
    to_m: float
    falls_s: float


def landing(
    stream: Stream,
    *,
    depth_sd_m: Floats,
    speed_sd_m_s: Floats,
    thrown_m: float,
    settling: Settling,
) -> Landing:
    """Return where a bait lands, with the range that the errors allow.

    The errors of depth and speed are each taken to be alike all down the line, and
    are moved one by one, as is the settling speed; what they shift the landing by,
    and the scatter by turbulence, are added as squares, up and down apart. The
    throw itself is taken to be exact.

    Parameters
    ----------
    stream : Stream
    depth_sd_m, speed_sd_m_s : array of float, shape as the stream's
        Standard errors; ``NaN`` counts as none known and adds nothing.
    thrown_m : float
        Where the feed enters the water.
    settling : Settling
        The bait's settling speed and its 80 % range.
    """
    at_m = _lands(stream, thrown_m, settling.usual_m_s)
    falls_s = _depth_m(stream, thrown_m, at_m) / settling.usual_m_s
    scatter_m = Z_80 * _scatter_m(stream, at_m, falls_s)
    ends = []
    for sign, speed in ((-1, settling.high_m_s), (1, settling.low_m_s)):
        deeper = replace(stream, depth_m=_moved(stream.depth_m, sign * depth_sd_m))
        faster = replace(
            stream, speed_m_s=_moved(stream.speed_m_s, sign * speed_sd_m_s)
        )
        moved = (
            _lands(deeper, thrown_m, settling.usual_m_s),
            _lands(faster, thrown_m, settling.usual_m_s),
            _lands(stream, thrown_m, speed),
        )
        shift_m = math.hypot(scatter_m, *(each - at_m for each in moved))
        ends.append(at_m + sign * shift_m)
    return Landing(
        from_m=max(ends[0], thrown_m), at_m=at_m, to_m=ends[1], falls_s=falls_s
    )


def _lands(stream: Stream, thrown_m: float, speed_m_s: float) -> float:
    return float(landing_m(stream, thrown_m, speed_m_s))


def _moved(values: Floats, by: Floats) -> Floats:
    """Add a standard error, none where it is not known; never below nothing."""
    moved: Floats = np.maximum(values + Z_80 * np.nan_to_num(by), 0.0)
    return moved


def _depth_m(stream: Stream, from_m: float, to_m: float) -> float:
    """Return the mean depth between two places; ``NaN`` if either is."""
    between = np.linspace(from_m, to_m, 50)
    return float(np.interp(between, stream.along_m, stream.depth_m).mean())


def _scatter_m(stream: Stream, at_m: float, falls_s: float) -> float:
    """Return the standard deviation that turbulence gives to the landing, metres.

    ``sqrt(2 * 0.15 u* h t)`` with ``u* = U n sqrt(g) / h^(1/6)`` where it lands.
    """
    depth_m = float(np.interp(at_m, stream.along_m, stream.depth_m))
    speed_m_s = float(np.interp(at_m, stream.along_m, stream.speed_m_s))
    if not depth_m > 0:
        return math.nan
    shear = speed_m_s * DEFAULT_N * math.sqrt(GRAVITY_M_S2) / depth_m ** (1 / 6)
    return math.sqrt(2 * MIXING * max(shear, 0.0) * depth_m * falls_s)
