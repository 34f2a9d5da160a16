"""Scores of very many swims for many species at many levels, in one go.

Neighbouring swims share most of their cells, so each cell is scored once a species
and level, and a sparse matrix of (swim, cell) shares turns cells into swims. The
numbers are those of ``pegscore.ranking.score_swims`` with the default product.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array

from pegscore.features import SwimCells, gather_cells
from pegscore.intervals import dry_as_zero
from pegscore.ranking import known_parts, swim_water
from pegscore.suitability import combine, factors

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from layers.stack import Stack
    from pegscore.intervals import Water
    from pegscore.species import Species

    Floats = NDArray[np.float64]

FACTORS = ("depth", "speed", "substrate")
"""The order of the factors along their axis."""


def score_arrays(
    stack: Stack,
    swims: gpd.GeoSeries,
    species: Sequence[Species],
    levels_m: Sequence[float],
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the scores of all swims and the factors behind them.

    Parameters
    ----------
    stack : Stack
        Layers that hold every level.
    swims : GeoSeries of Polygon
        The water in reach.
    species : sequence of Species
        Whose curves score it.
    levels_m : sequence of float
        Readings of the board.

    Returns
    -------
    scores : float32 array (level, species, swim)
        In [0, 1]; ``NaN`` where the water is dry or unknown.
    factors : float32 array (level, species, factor, swim)
        Mean suitability by ``FACTORS``; ``NaN`` where it is unknown.

    Raises
    ------
    LevelMissing
        If the stack was not built at a level.
    """
    cells = gather_cells(stack.grid, swims)
    used, column = np.unique(cells.cell, return_inverse=True)
    shape = (len(swims), len(used))
    shares = csr_array((cells.weight, (cells.swim, column)), shape)
    once = SwimCells(np.zeros(len(used), np.int64), used, np.ones(len(used)))
    scores = np.full((len(levels_m), len(species), len(swims)), np.nan, np.float32)
    parts = np.full((*scores.shape[:2], len(FACTORS), len(swims)), np.nan, np.float32)
    for level, level_m in enumerate(levels_m):
        water = swim_water(stack, once, level_m)
        wet = shares @ (~np.isnan(water.depth_m)).astype(float) > 0
        for kind, one in enumerate(species):
            by_cell = _cell_scores(one, water)
            found = np.where(wet, _means(shares, by_cell), np.nan)
            scores[level, kind], parts[level, kind] = found[0], found[1:]
    return scores, parts


def _cell_scores(species: Species, water: Water) -> Floats:
    """Return score and factors of each cell, (1 + factor, cell)."""
    known = factors(
        species, depth_m=water.depth_m, speed_m_s=water.speed_m_s, shares=water.shares
    )
    unknown = np.full(len(water.depth_m), np.nan)
    if not len(unknown):
        return np.empty((1 + len(FACTORS), 0))
    usable = known_parts(known)
    score = combine(usable, rule="product") if usable else unknown
    columns = [known.get(name, unknown) for name in FACTORS]
    return np.stack([dry_as_zero(score, water), *columns])


def _means(shares: csr_array, values: Floats) -> Floats:
    """Return the weighted mean of the known values of each row in each swim."""
    known = ~np.isnan(values)
    total = (shares @ np.where(known, values, 0.0).T).T
    weight = (shares @ known.astype(float).T).T
    means = np.full(total.shape, np.nan)
    np.divide(total, weight, out=means, where=weight > 0)
    return means
