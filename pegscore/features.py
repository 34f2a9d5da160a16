"""From layers and swims to one row of numbers a peg.

Every statistic is a grouped reduction over the flat arrays of ``SwimCells``
(``pegscore.zonal``): there is no loop over pegs. What is ``NaN`` (dry, or unknown)
is left out of a statistic, never counted as zero, and the share that is known is
reported.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from layers.errors import LevelMissing
from pegscore.coverage import SwimCells, gather_cells
from pegscore.zonal import swim_deviation, swim_mean, swim_quantiles

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

    from layers.stack import Stack

    Floats = NDArray[np.float64]

__all__ = [
    "SwimCells",
    "gather_cells",
    "swim_deviation",
    "swim_features",
    "swim_mean",
    "swim_quantiles",
]

TENTHS = {"p10": 0.1, "p50": 0.5, "p90": 0.9}
"""The quantiles that the features report, by the name they get in a column."""


def swim_features(
    stack: Stack,
    swims: gpd.GeoSeries,
    *,
    level_m: float,
    cells: SwimCells | None = None,
) -> pd.DataFrame:
    """Return what each swim is like at one river level, a row a peg.

    Parameters
    ----------
    stack : Stack
        The layers.
    swims : GeoSeries of Polygon or MultiPolygon, index peg
        The water in reach, see ``pegscore.reach.swims``.
    level_m : float
        The reading of the board, one of the stack's levels.
    cells : SwimCells, optional
        The swims' cells from ``gather_cells``, to use them again at other levels.

    Returns
    -------
    DataFrame, index as ``swims``
        ``swim_area_m2``; ``wet_area_m2`` and ``wet_share``: the part of it, on the
        grid, whose depth is known and not dry; ``dry_share``: the part whose known
        bed stands out of the water at this level; ``depth_m`` (mean), ``depth_sd_m``
        (spread over the swim), ``depth_p10_m``, ``depth_p50_m``, ``depth_p90_m``;
        likewise ``speed_m_s``, ``speed_sd_m_s``, ...; ``bed_sd_m`` and
        ``speed_error_m_s``: mean standard errors of the layers; ``<class>_share`` for
        each substrate of the stack; ``speed_known_share`` and
        ``substrate_known_share`` of the wet area. All statistics weigh cells by
        covered area and regard wet cells alone; ``NaN`` where nothing is known.

    Raises
    ------
    LevelMissing
        If the stack was not built at ``level_m``.
    """
    if cells is None:
        cells = gather_cells(stack.grid, swims)
    depth_m = _values(stack, "depth", cells, level_m)
    is_wet = ~np.isnan(depth_m)
    wet = cells.only(is_wet)
    n_swims = len(swims)
    wet_cells = np.bincount(wet.swim, wet.weight, n_swims)
    table = {
        "swim_area_m2": np.asarray(swims.area, np.float64),
        "wet_area_m2": wet_cells * stack.grid.cell_area_m2,
        "wet_share": _known_share(depth_m, cells, n_swims),
        "dry_share": swim_mean(_dry(stack, cells, depth_m), cells, n_swims),
        **_spread("depth", "m", depth_m[is_wet], wet, n_swims),
        **_flow(stack, wet, level_m, n_swims),
        **_bottom(stack, wet, level_m, n_swims),
    }
    return pd.DataFrame(table, index=swims.index)


def _values(stack: Stack, name: str, cells: SwimCells, level_m: float) -> Floats:
    """Return a layer's values at the cells; ``NaN`` if the stack has no such layer."""
    try:
        layer = stack.layer(name, level_m=level_m)
    except LevelMissing:
        raise
    except ValueError:
        return np.full(len(cells), np.nan)
    return layer.ravel()[cells.cell].astype(np.float64)


def _dry(stack: Stack, cells: SwimCells, depth_m: Floats) -> Floats:
    """Return 1 where a known bed stands out of the water, else 0."""
    bed_m = _values(stack, "bed", cells, 0.0)
    return (np.isnan(depth_m) & np.isfinite(bed_m)).astype(np.float64)


def _spread(
    name: str, unit: str, values: Floats, cells: SwimCells, n_swims: int
) -> dict[str, Floats]:
    """Return mean, standard deviation and quantiles under their column names."""
    quantiles = swim_quantiles(values, cells, n_swims, shares=list(TENTHS.values())).T
    return {
        f"{name}_{unit}": swim_mean(values, cells, n_swims),
        f"{name}_sd_{unit}": swim_deviation(values, cells, n_swims),
        **{
            f"{name}_{tenth}_{unit}": quantile
            for tenth, quantile in zip(TENTHS, quantiles, strict=True)
        },
    }


def _flow(
    stack: Stack, wet: SwimCells, level_m: float, n_swims: int
) -> dict[str, Floats]:
    speed_m_s = _values(stack, "speed", wet, level_m)
    error_m_s = _values(stack, "speed_sd", wet, level_m)
    return {
        **_spread("speed", "m_s", speed_m_s, wet, n_swims),
        "speed_error_m_s": swim_mean(error_m_s, wet, n_swims),
        "speed_known_share": _known_share(speed_m_s, wet, n_swims),
    }


def _bottom(
    stack: Stack, wet: SwimCells, level_m: float, n_swims: int
) -> dict[str, Floats]:
    bed_sd_m = _values(stack, "bed_sd", wet, level_m)
    shares = {name: _values(stack, name, wet, level_m) for name in stack.substrates}
    known = next(iter(shares.values()), np.full(len(wet), np.nan))
    return {
        "bed_sd_m": swim_mean(bed_sd_m, wet, n_swims),
        **{
            f"{name}_share": swim_mean(share, wet, n_swims)
            for name, share in shares.items()
        },
        "substrate_known_share": _known_share(known, wet, n_swims),
    }


def _known_share(values: Floats, cells: SwimCells, n_swims: int) -> Floats:
    return swim_mean((~np.isnan(values)).astype(np.float64), cells, n_swims)
