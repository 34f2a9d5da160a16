"""The best patch of a swim: the largest piece of joined-up good water in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from pegscore.zonal import swim_mean

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.grid import Grid
    from pegscore.coverage import SwimCells

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

GOOD_SCORE = 0.5
"""A cell from here on is good water; [P], our proposal."""


def best_patch(
    scores: NDArray[np.floating],
    cells: SwimCells,
    grid: Grid,
    *,
    n_swims: int,
    threshold: float = GOOD_SCORE,
) -> pd.DataFrame:
    """Return the largest patch of each swim in which every cell scores well.

    A patch is a set of cells of one swim that touch along their sides, all of which
    score ``threshold`` or more. Of two equal patches the one with the better mean
    score is taken, then the more northern one.

    Parameters
    ----------
    scores : float array
        One score an entry of ``cells``; ``NaN`` (dry, unknown) is in no patch.
    cells : SwimCells
        The swims' cells.
    grid : Grid
        The grid that they lie on.
    n_swims : int
        The number of swims.
    threshold : float, default=0.5
        The least score of a good cell.

    Returns
    -------
    DataFrame, one row a swim in their order
        ``best_patch_score`` (mean), ``best_patch_m2``, ``best_patch_easting`` and
        ``best_patch_northing`` (centre of gravity). Without a good cell the area is
        0 and the rest ``NaN``; if no score is known, the area is ``NaN`` too.

    Examples
    --------
    Of four cells in a row the second is poor: the patch is the last two.

    >>> from pyproj import CRS
    >>> from layers.grid import Bounds, Grid
    >>> from pegscore.coverage import SwimCells
    >>> grid = Grid.covering(Bounds(west=0, east=4, south=0, north=1),
    ...                      cell_m=1, crs=CRS("EPSG:27700"))
    >>> cells = SwimCells(np.zeros(4, int), np.arange(4), np.ones(4))
    >>> patch = best_patch(np.array([0.9, 0.1, 0.6, 0.8]), cells, grid, n_swims=1)
    >>> patch.loc[0].tolist()
    [0.7, 2.0, 3.0, 0.5]
    """
    good = scores >= threshold
    inside, score = cells.only(good), scores[good].astype(np.float64)
    chosen = _largest(_labels(inside, grid), inside, score)
    patch, score = inside.only(chosen), score[chosen]
    easting, northing = grid.centres()
    row, column = np.divmod(patch.cell, grid.columns)
    area_m2 = np.bincount(patch.swim, patch.weight, n_swims) * grid.cell_area_m2
    area_m2[np.setdiff1d(np.arange(n_swims), cells.swim[~np.isnan(scores)])] = np.nan
    return pd.DataFrame(
        {
            "best_patch_score": swim_mean(score, patch, n_swims),
            "best_patch_m2": area_m2,
            "best_patch_easting": swim_mean(easting[column], patch, n_swims),
            "best_patch_northing": swim_mean(northing[row], patch, n_swims),
        }
    )


def _labels(cells: SwimCells, grid: Grid) -> Ints:
    """Return the number of the patch that each entry belongs to."""
    key = cells.swim * np.int64(grid.rows * grid.columns) + cells.cell
    row, column = np.divmod(cells.cell, grid.columns)
    pairs = [
        _pairs(key, 1, column < grid.columns - 1),
        _pairs(key, grid.columns, row < grid.rows - 1),
    ]
    first, second = np.concatenate(pairs, axis=1)
    joined = coo_array((np.ones(len(first)), (first, second)), (len(key), len(key)))
    _, label = connected_components(joined, directed=False)
    return np.asarray(label, np.int64)


def _pairs(key: Ints, step: int, has_next: NDArray[np.bool_]) -> Ints:
    """Return the positions, shape (2, n), of entries and their next neighbours."""
    place = np.searchsorted(key, key + step)
    found = has_next & (place < len(key))
    found[found] = key[place[found]] == key[found] + step
    return np.stack([np.flatnonzero(found), place[found]])


def _largest(label: Ints, cells: SwimCells, score: Floats) -> NDArray[np.bool_]:
    """Return which entries belong to the largest patch of their swim."""
    area = np.bincount(label, cells.weight)
    worth = np.bincount(label, cells.weight * score)
    swim = np.empty(len(area), np.int64)
    swim[label] = cells.swim
    _, first = np.unique(label, return_index=True)
    mean = worth / area
    # rounding, so that equal patches tie whatever the order of summing
    order = np.lexsort((first, -mean.round(9), -area.round(9), swim))
    _, best = np.unique(swim[order], return_index=True)
    is_best = np.zeros(len(area), bool)
    is_best[order[best]] = True
    return np.asarray(is_best[label], bool)
