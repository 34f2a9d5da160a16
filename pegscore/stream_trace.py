"""A line that keeps its share of the flow, as a streamline does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from pegscore.layer_points import layer_at
from pegscore.reach import FAR_BANK_M

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import Channel
    from layers.stack import Stack
    from pegscore.reach import Banks

    Floats = NDArray[np.float64]

ACROSS_M = 0.5
"""The flow across the river is summed in steps of about this."""

SMOOTHING_M = 4.0
"""Standard deviation of the smoothing of the line's distance out; our proposal."""

RETURN_M = 10.0
"""Abreast of the peg the line lies where it was chosen; over about this distance it
joins the smoothed streamline. Our proposal."""


def trace_streamline(
    banks: Banks,
    stations_m: Floats,
    wanted_m: float,
    *,
    stack: Stack,
    channel: Channel,
    level_m: float,
) -> Floats:
    """Return metres out from the own bank at which the share of the flow stays.

    Parameters
    ----------
    banks : Banks
        Of one peg, shape (1, stations).
    stations_m : array of float, shape (stations,)
        Metres down the channel's axis from the peg, in even steps.
    wanted_m : float
        Metres out at the station nearest to 0; cut short of the far bank.
    stack, channel, level_m
        Where the flow is read.

    Returns
    -------
    array of float, shape (stations,)
        Smoothed along the river, and kept off both banks.
    """
    step_m = float(stations_m[1] - stations_m[0])
    width_m = np.abs(banks.other_m - banks.near_m)[0]
    steps = max(2, int(np.ceil(width_m.max() / ACROSS_M)))
    out_m = np.linspace(0.0, 1.0, steps + 1) * width_m[:, None]
    flow = _flow_across(banks, out_m, stack, channel, level_m)
    abreast = int(np.argmin(np.abs(stations_m)))
    limit_m = max(width_m[abreast] - FAR_BANK_M, width_m[abreast] / 2)
    start_m = min(wanted_m, limit_m)
    kept = np.interp(start_m, out_m[abreast], flow[abreast])
    found = np.array([np.interp(kept, *each) for each in zip(flow, out_m, strict=True)])
    smooth = ndimage.gaussian_filter1d(found, SMOOTHING_M / step_m, mode="nearest")
    nearby = np.exp(-(((stations_m - stations_m[abreast]) / RETURN_M) ** 2) / 2)
    moved = smooth + (start_m - smooth[abreast]) * nearby
    line_m: Floats = np.clip(moved, ACROSS_M, np.maximum(width_m - ACROSS_M, ACROSS_M))
    return line_m


def _flow_across(
    banks: Banks, out_m: Floats, stack: Stack, channel: Channel, level_m: float
) -> Floats:
    """Return the share of the flow between the own bank and each place across.

    Where the pace is unknown everywhere, depth stands for it, and where nothing is
    known the width does.
    """
    offset_m = banks.near_m[0][:, None] + banks.outwards[0] * out_m
    chainage_m = np.broadcast_to(banks.chainage_m[0][:, None], offset_m.shape)
    east, north = channel.to_world(chainage_m, offset_m)
    depth_m, speed_m_s = (
        layer_at(stack, name, east, north, level_m=level_m)
        for name in ("depth", "speed")
    )
    passing = depth_m * (speed_m_s if np.isfinite(speed_m_s).any() else 1.0)
    passing = np.maximum(np.nan_to_num(passing), 0.0)
    passing[passing.sum(axis=1) <= 0] = 1.0
    strips = (passing[:, 1:] + passing[:, :-1]) / 2 * np.diff(out_m, axis=1)
    summed = np.cumsum(strips, axis=1)
    share: Floats = np.pad(summed, ((0, 0), (1, 0))) / summed[:, -1:]
    return share
