"""Where loose feed lands: it sinks while the stream carries it.

Water that follows a bed keeps its place between surface and bottom: in a
streamtube the flow below a given *share* of the depth is the same all the way. A
bait that sinks at ``w`` moves through those shares at ``w / h`` and downstream at
``U p``, with ``U`` the depth mean, ``h`` the depth and ``p`` the profile's shape,
whose mean over the depth is one. Hence::

    dx / (U h) = p dσ / w,     and from the surface to the bed     ∫ dx / (U h) = 1 / w

The shape drops out, and with even water the drift is ``U h / w``. So one running
sum of ``1 / (U h)`` down the line answers every bait, every throw and the inverse.
The shape is needed for the path in between alone.

Left out: wind, the arc and splash of the throw, lift by turbulence (its scatter is
in :mod:`pegscore.landing`), and feed that moves on after it has met the bottom.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pegscore.errors import PegError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Carried = Callable[[Floats], Floats]

STEP_M = 0.05
"""The running sum's step; a tenth of the smallest cell in use."""

STILL_M2_S = 1e-6
"""A flow past a metre of width below this carries nothing anywhere."""

LEAST_POINTS = 2


def power_law_carried(height_frac: ArrayLike, *, exponent: float = 6.0) -> Floats:
    """Return the share of the flow below a height, for ``u ~ z^(1/m)``.

    Examples
    --------
    >>> float(power_law_carried(1.0)), float(power_law_carried(0.0))
    (1.0, 0.0)
    """
    height = np.clip(np.asarray(height_frac, np.float64), 0.0, 1.0)
    carried: Floats = height ** ((exponent + 1) / exponent)
    return carried


def log_law_carried(height_frac: ArrayLike, *, relative_z0: float) -> Floats:
    """Return the share of the flow below a height, for the rough log profile.

    Parameters
    ----------
    height_frac : array-like of float
        Height above the bed over depth.
    relative_z0 : float
        ``z0 / h`` with ``z0 = k_s / 30``, above 0 and below 1; below ``z0`` the
        water stands.

    Examples
    --------
    >>> round(float(log_law_carried(1.0, relative_z0=0.001)), 12)
    1.0
    """
    height = np.clip(np.asarray(height_frac, np.float64), relative_z0, 1.0)
    below = height * np.log(height / relative_z0) - height + relative_z0
    whole = -np.log(relative_z0) - 1.0 + relative_z0
    carried: Floats = below / whole
    return carried


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """Water along one line, from upstream to downstream.

    Parameters
    ----------
    along_m : array of float, shape (n,)
        Metres down the line, growing.
    depth_m, speed_m_s : array of float, shape (n,)
        Depth and depth-mean speed, linear in between; ``NaN`` is dry or unknown,
        and nothing is told of feed that would have to cross it.

    Raises
    ------
    PegError
        If there are fewer than two points or they do not go downstream.
    """

    along_m: Floats
    depth_m: Floats
    speed_m_s: Floats

    def __post_init__(self) -> None:
        gaps = np.diff(self.along_m)
        if self.along_m.size < LEAST_POINTS or not np.all(gaps > 0):
            message = (
                f"the line's points lie at {self.along_m.tolist()[:5]} m; give at "
                "least two, each further down than the one before"
            )
            raise PegError(message)


def landing_m(stream: Stream, thrown_m: ArrayLike, settling_m_s: ArrayLike) -> Floats:
    """Return where feed thrown on the surface meets the bottom, metres down the line.

    Parameters
    ----------
    stream : Stream
    thrown_m : array-like of float
        Where it enters the water, metres down the line.
    settling_m_s : array-like of float
        Its settling speed; broadcast against ``thrown_m``.

    Returns
    -------
    array of float
        ``NaN`` where it floats, where the water on its way is dry or unknown, or
        where it would land beyond the line's end.

    Examples
    --------
    In 1.5 m of water at 0.4 m/s a bait sinking 0.1 m/s drifts 0.4 * 1.5 / 0.1 m:

    >>> even = Stream(along_m=np.array([0.0, 20.0]), depth_m=np.full(2, 1.5),
    ...               speed_m_s=np.full(2, 0.4))
    >>> landing_m(even, [1.0, 2.0], 0.1).round(9).tolist()
    [7.0, 8.0]
    """
    return _moved(stream, thrown_m, 1.0 / np.asarray(settling_m_s, np.float64))


def throw_m(stream: Stream, landed_m: ArrayLike, settling_m_s: ArrayLike) -> Floats:
    """Return where to throw feed so that it lands at a spot: ``landing_m`` undone.

    Returns
    -------
    array of float
        Metres down the line, below 0 upstream of its zero; ``NaN`` as for
        ``landing_m``, and where the throw would be above the line's upper end.
    """
    return _moved(stream, landed_m, -1.0 / np.asarray(settling_m_s, np.float64))


def sinking_path(
    stream: Stream,
    thrown_m: float,
    settling_m_s: float,
    *,
    sunk_frac: ArrayLike,
    carried: Carried = power_law_carried,
) -> Floats:
    """Return where sinking feed is when it has passed given shares of the depth.

    Parameters
    ----------
    sunk_frac : array-like of float
        Depth of the bait over depth of the water: 0 surface, 1 bottom.
    carried : callable
        Share of the flow below a height (over depth), 0 to 1.

    Returns
    -------
    array of float
        Metres down the line, shape as ``sunk_frac``.
    """
    height = 1.0 - np.asarray(sunk_frac, np.float64)
    passed = carried(np.ones(1)) - carried(height)
    return _moved(stream, np.full(height.shape, thrown_m), passed / settling_m_s)


def _moved(stream: Stream, from_m: ArrayLike, slowness_s_m: ArrayLike) -> Floats:
    """Return where the running sum of ``1 / (U h)`` has grown by ``slowness_s_m``."""
    fine_m, depth_m, speed_m_s = _refined(stream)
    flow = np.maximum(depth_m * speed_m_s, STILL_M2_S)
    middle = (flow[1:] + flow[:-1]) / 2
    unknown = np.isnan(middle)
    steps = np.where(unknown, 0.0, np.diff(fine_m) / np.where(unknown, 1.0, middle))
    passed = np.concatenate([[0.0], np.cumsum(steps)])
    holes = np.concatenate([[0.0], np.cumsum(unknown)])
    start_m, grown = np.broadcast_arrays(
        np.asarray(from_m, np.float64), np.asarray(slowness_s_m, np.float64)
    )
    goal = np.interp(start_m, fine_m, passed, left=np.nan, right=np.nan) + grown
    end_m = np.interp(goal, passed, fine_m, left=np.nan, right=np.nan)
    crossed = np.interp(end_m, fine_m, holes) - np.interp(start_m, fine_m, holes)
    return np.where(np.abs(crossed) > 0, np.nan, end_m)


def _refined(stream: Stream) -> tuple[Floats, Floats, Floats]:
    """Return the line's points with others between them, ``STEP_M`` apart."""
    first_m, last_m = float(stream.along_m[0]), float(stream.along_m[-1])
    even = np.linspace(first_m, last_m, int(np.ceil((last_m - first_m) / STEP_M)) + 1)
    fine_m = np.union1d(even, stream.along_m)
    return (
        fine_m,
        np.interp(fine_m, stream.along_m, stream.depth_m),
        np.interp(fine_m, stream.along_m, stream.speed_m_s),
    )
