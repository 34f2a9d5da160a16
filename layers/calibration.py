"""Measured speeds against the modelled ones: what discharge each implies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from layers.grain import typical_mm
from layers.hydraulics import float_coefficient, power_law_speed

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from numpy.typing import NDArray

    from layers.channel import WetCells
    from layers.conveyance import Reach, Water
    from layers.inertia import Waters

    Array = NDArray[np.float64]

STEPS = 33
"""Places looked at along a float's run."""
LEAST_KNOWN = 0.5
"""Share of a run that must lie in flowing water."""
LEVEL_STEP_M = 0.01
"""Floats whose levels differ by less are calibrated together."""
ROUGHNESS_GRAINS = 2.5
"""Roughness height over grain size: the low end of 2.5-3.5 d84 (from memory)."""
LOWEST_HEIGHT = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Implied:
    """The discharge that each usable speed measurement implies.

    Parameters
    ----------
    level_m : array of float, shape (n,)
        The board at the time of each measurement.
    flow_m3_s : array of float, shape (n,)
        The discharge at which the model would give the measured speed there.
    reach_m3_s : array of float, shape (n,)
        The reach's conveyance at that level.
    chainage_m, offset_m : array of float, shape (n,)
        Where each was taken, by the cells along its run.
    left_out : int
        Measurements not in flowing water, not above zero or without a height.
    """

    level_m: Array
    flow_m3_s: Array
    reach_m3_s: Array
    chainage_m: Array
    offset_m: Array
    left_out: int

    def __len__(self) -> int:
        """Return the number of usable measurements."""
        return self.flow_m3_s.size


def implied_flows(
    speeds: pd.DataFrame,
    waters: Waters,
    shares: Mapping[str, Array] | None,
    *,
    level_m: float,
) -> Implied:
    """Compare every measured speed with the model at its own level.

    A float's time is compared with the modelled time along the straight line of
    its run; a surface speed is turned into the depth mean by
    ``hydraulics.float_coefficient``, one at a known height by a 1/6 power law.

    Parameters
    ----------
    speeds : DataFrame
        As ``Survey.speeds``.
    waters : Waters
        The model.
    shares : mapping of str to array, optional
        Substrate shares a cell, for the roughness height.
    level_m : float
        The level meant where a measurement gives none.
    """
    levels = speeds["level_m"].fillna(level_m).to_numpy(float)
    levels = np.round(levels / LEVEL_STEP_M) * LEVEL_STEP_M
    index = _cells_along(speeds, waters.reach)
    heights_m = _roughness_heights(shares, len(waters.reach.cells.rows))
    flow = np.full(len(speeds), np.nan)
    carried = np.full(len(speeds), np.nan)
    for level in np.unique(levels):
        here = levels == level
        water = waters.at(float(level))
        flow[here] = _implied(speeds[here], index[here], water, heights_m)
        carried[here] = water.reach_m3_s
    good = np.isfinite(flow) & (flow > 0)
    chainage_m, offset_m = _middles(index, waters.reach.cells)
    return Implied(
        level_m=levels[good],
        flow_m3_s=flow[good],
        reach_m3_s=carried[good],
        chainage_m=chainage_m[good],
        offset_m=offset_m[good],
        left_out=int((~good).sum()),
    )


def _cells_along(speeds: pd.DataFrame, reach: Reach) -> NDArray[np.int64]:
    """Return the cells along each run, shape (n, STEPS); -1 is not water."""
    middle = speeds[["easting", "northing"]].to_numpy(float)
    start = _filled(speeds, "start", middle)
    end = _filled(speeds, "end", middle)
    along = np.linspace(0.0, 1.0, STEPS)[None, :, None]
    places = start[:, None, :] + along * (end - start)[:, None, :]
    row, column = reach.grid.cell_at(places[..., 0], places[..., 1])
    number = np.full(reach.grid.shape, -1, np.int64)
    number[reach.cells.rows, reach.cells.columns] = np.arange(len(reach.cells.rows))
    inside = reach.grid.holds(row, column)
    return np.where(
        inside, number[np.where(inside, row, 0), np.where(inside, column, 0)], -1
    )


def _middles(index: NDArray[np.int64], cells: WetCells) -> tuple[Array, Array]:
    """Return the mean chainage and offset of the cells along each run."""
    known = index >= 0
    count = np.maximum(known.sum(axis=1), 1)
    chainage_m = np.where(known, cells.chainage_m[index], 0.0).sum(axis=1) / count
    offset_m = np.where(known, cells.offset_m[index], 0.0).sum(axis=1) / count
    return chainage_m, offset_m


def _filled(speeds: pd.DataFrame, which: str, middle: Array) -> Array:
    names = [f"{which}_easting", f"{which}_northing"]
    if not set(names) <= set(speeds.columns):
        return middle
    places = speeds[names].to_numpy(float)
    return np.where(np.isfinite(places), places, middle)


def _implied(
    speeds: pd.DataFrame,
    index: NDArray[np.int64],
    water: Water,
    heights_m: Array,
) -> Array:
    """Return the discharge each measurement implies; ``NaN`` where it cannot say."""
    known = (index >= 0) & water.flowing[index]
    count = known.sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        slowness = np.where(known, 1.0 / water.unit_speed[index], 0.0)
        unit = count / slowness.sum(axis=1)
        depth_m = np.where(known, water.depth_m[index], 0.0).sum(axis=1) / count
    middle = index[:, STEPS // 2]
    mean_m_s = _depth_mean(speeds, depth_m, heights_m[middle])
    usable = count >= LEAST_KNOWN * STEPS
    return np.where(usable, mean_m_s / unit, np.nan)


def _depth_mean(speeds: pd.DataFrame, depth_m: Array, height_m: Array) -> Array:
    """Return measured speeds as depth means, m/s."""
    kind = speeds["kind"].to_numpy(str)
    height = np.clip(speeds["height_frac"].to_numpy(float), LOWEST_HEIGHT, 1.0)
    factor = np.select(
        [np.isin(kind, ["float", "surface"]), kind == "point"],
        [float_coefficient(depth_m, height_m), 1.0 / power_law_speed(height)],
        default=1.0,
    )
    mean: Array = speeds["speed_m_s"].to_numpy(float) * factor
    return mean


def _roughness_heights(shares: Mapping[str, Array] | None, count: int) -> Array:
    """Return the roughness height a cell, metres; ``NaN`` where unknown."""
    if not shares:
        return np.full(count, np.nan)
    sizes = {word: np.nan_to_num(typical_mm(word)) / 1000 for word in shares}
    grain_m = np.sum([share * sizes[word] for word, share in shares.items()], axis=0)
    return ROUGHNESS_GRAINS * np.asarray(grain_m, np.float64)
