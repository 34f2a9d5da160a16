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
        classes (class, cell). Speed, or shares, without entries are no factor;
        speed's curves are then 1 throughout.
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
    first, length, swim, weight = runs
    scores = np.zeros((len(swim) - 1, tables[2].shape[1]))
    bottom = np.empty(scores.shape[1])
    cell = 0
    for one in range(len(swim) - 1):
        total, wet = 0.0, 0
        for run in range(swim[one], swim[one + 1]):
            own = weight[cell : cell + length[run]]
            cell += length[run]
            cells = (first[run], first[run] + length[run])
            more = add_run(scores[one], cells, own, water, tables, rule, bottom)
            total, wet = total + more[0], wet + more[1]
        scores[one] *= 1.0 / total if wet and total > 0.0 else np.nan
    return scores


@kernel
def add_run(
    sums: Floats,
    cells: tuple[int, int],
    weight: Floats,
    water: tuple[Layer, Layer, Layer, Layer],
    tables: tuple[Curves, Curves, Floats],
    rule: int,
    bottom: Floats,
) -> tuple[float, int]:
    """Add a run's weighted scores to the sum of each species; ``bottom`` is room.

    Returns the weight of the cells that count and how many are wet. A factor that
    does not count is 1, which alters neither a product nor a least.
    """
    bed, depth, speed, shares = water
    by_depth, by_speed, by_class = tables
    total, wet = 0.0, 0
    power = 1.0 / (1 + (len(speed) > 0) + (len(shares) > 0))
    for at in range(cells[0], cells[1]):
        own = weight[at - cells[0]] if len(weight) else 1.0
        if np.isnan(depth[at]):
            total += 0.0 if np.isnan(bed[at]) else own
            continue
        wet += 1
        pace = float(speed[at]) if len(speed) else 0.0
        known = expect(bottom, shares, by_class, at)
        if not known or np.isnan(pace):
            continue
        total += own
        one = segment(by_depth[0], by_depth[1], depth[at])
        two = segment(by_speed[0], by_speed[1], pace)
        from_one, from_two = depth[at] - by_depth[0][one], pace - by_speed[0][two]
        for kind in range(len(sums)):
            deep = by_depth[2][one, kind] + by_depth[3][one, kind] * from_one
            fast = by_speed[2][two, kind] + by_speed[3][two, kind] * from_two
            score = deep * fast * bottom[kind]
            if rule == MINIMUM:
                score = min(deep, fast, bottom[kind])
            elif rule == GEOMETRIC:
                score = score**power
            sums[kind] += own * score
    return total, wet


@kernel
def expect(bottom: Floats, shares: Layer, by_class: Floats, at: int) -> bool:
    """Fill in each species' expected suitability of a cell's bottom, if it is known."""
    bottom[:] = 0.0 if len(shares) else 1.0
    known = True
    for kind in range(len(shares)):
        share = shares[kind, at]
        known &= not np.isnan(share)
        for species in range(len(bottom)):
            bottom[species] += share * by_class[kind, species]
    return known


@kernel
def segment(knots: Floats, guide: Ints, value: float) -> int:
    """Return which piece of the curves a value lies on: 0 is before the first knot."""
    last = len(knots) - 1
    if not value >= knots[1]:
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
