"""Compiled: the score of every swim for every species, in one pass over its cells.

No raster of a species is ever made. All species' curves are laid on one row of
knots, so that a cell looks up its place once for depth and once for speed, and the
species follow each other in memory from there.

Loaded only where the work pays for numba; everything here is called compiled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.compiled import kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Layer = NDArray[np.float32]
    Curves = tuple[Floats, Ints, Floats, Floats]

PRODUCT, GEOMETRIC, MINIMUM = 0, 1, 2
"""How a cell's factors are combined, see ``pegscore.suitability.combine``."""


@kernel
def species_scores(
    water: tuple[Layer, Layer, Layer, Layer],
    tables: tuple[Curves, Curves, Floats],
    runs: tuple[Ints, Ints, Ints, Floats],
    rule: int,
) -> Floats:
    """Return the mean score of the cells of each swim, a column a species.

    Parameters
    ----------
    water : tuple of float32 arrays
        Bed, depth and speed, one value a cell of the grid, and shares of the bottom's
        classes (class, cell). Speed, or shares, without entries are no factor.
    tables : tuple
        Curves of depth and of speed as ``pegscore.sweep`` lays them out, and the
        suitability of each class (class, species).
    runs : tuple
        As in ``pegscore.selection.band_summaries``.
    rule : int
        ``PRODUCT``, ``GEOMETRIC`` or ``MINIMUM``.

    Returns
    -------
    float64 array (swim, species)
        Dry cells (a known bed, no depth) count 0 and unknown ones not at all; ``NaN``
        where no cell is known or none is wet.
    """
    bed, depth = water[0], water[1]
    first, length, swim, weight = runs
    scores = np.zeros((len(swim) - 1, tables[2].shape[1]))
    cell = 0
    for one in range(len(swim) - 1):
        total, wet = 0.0, False
        for run in range(swim[one], swim[one + 1]):
            for at in range(first[run], first[run] + length[run]):
                own = weight[cell] if len(weight) else 1.0
                cell += 1
                if np.isnan(depth[at]):
                    total += 0.0 if np.isnan(bed[at]) else own
                    continue
                wet = True
                if is_known(water, at):
                    total += own
                    add_cell(scores[one], own, at, water, tables, rule)
        scores[one] *= 1.0 / total if wet and total > 0.0 else np.nan
    return scores


@kernel
def is_known(water: tuple[Layer, Layer, Layer, Layer], at: int) -> bool:
    """Say whether every factor that counts is known in a cell."""
    speed, shares = water[2], water[3]
    known = not (len(speed) and np.isnan(speed[at]))
    for kind in range(len(shares)):
        known &= not np.isnan(shares[kind, at])
    return known


@kernel
def add_cell(
    sums: Floats,
    weight: float,
    at: int,
    water: tuple[Layer, Layer, Layer, Layer],
    tables: tuple[Curves, Curves, Floats],
    rule: int,
) -> None:
    """Add a cell's weighted score to the sum of each species."""
    speed, shares = water[2], water[3]
    by_depth, by_speed, by_class = tables
    depth_m = float(water[1][at])
    speed_m_s = float(speed[at]) if len(speed) else 0.0
    one, two = segment(by_depth, depth_m), segment(by_speed, speed_m_s)
    from_one, from_two = depth_m - by_depth[0][one], speed_m_s - by_speed[0][two]
    parts = 1 + (len(speed) > 0) + (len(shares) > 0)
    for species in range(len(sums)):
        score = by_depth[2][one, species] + by_depth[3][one, species] * from_one
        if len(speed):
            pace = by_speed[2][two, species] + by_speed[3][two, species] * from_two
            score = min(score, pace) if rule == MINIMUM else score * pace
        if len(shares):
            bottom = 0.0
            for kind in range(len(shares)):
                bottom += float(shares[kind, at]) * by_class[kind, species]
            score = min(score, bottom) if rule == MINIMUM else score * bottom
        if rule == GEOMETRIC:
            score = score ** (1.0 / parts)
        sums[species] += weight * score


@kernel
def segment(curves: Curves, value: float) -> int:
    """Return which piece of the curves a value lies on: 0 is before the first knot."""
    knots, guide = curves[0], curves[1]
    last = len(knots) - 1
    if value < knots[1]:
        return 0
    if value >= knots[last]:
        return last
    along = (value - knots[1]) / (knots[last] - knots[1])
    piece = int(guide[min(int(along * (len(guide) - 1)), len(guide) - 1)])
    while piece < last and knots[piece + 1] <= value:
        piece += 1
    while piece > 0 and knots[piece] > value:
        piece -= 1
    return piece
