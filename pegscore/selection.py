"""Compiled: mean, spread and quantiles of each swim's cells, by selection.

A quantile needs no sorting: the values are dealt into buckets between their least and
their greatest, all buckets but those round the wanted place are dropped, and what is
left is dealt again, until so few are left that they are put in order. The rule for
weights is that of ``pegscore.zonal.swim_quantiles``.

Loaded only where the work pays for numba; everything here is called compiled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.compiled import kernel
from pegscore.whole import BUCKETS as WHOLE_BUCKETS
from pegscore.whole import whole_cells, whole_summary

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

BUCKETS = 64
FEW = 24
"""So few values are put in order by insertion."""


@kernel
def summaries(
    values: NDArray[np.floating], start: Ints, weight: Floats, shares: Floats
) -> Floats:
    """Return the statistics of groups of values.

    Parameters
    ----------
    values : float array
        Group after group; ``NaN`` is unknown and left out.
    start : int array
        Where each group begins, with the end appended.
    weight : float64 array
        One above 0 a value; empty if all are 1.
    shares : float64 array
        The quantiles that are wanted.

    Returns
    -------
    float64 array, a row a group
        Total weight, mean, standard deviation, then the quantiles; ``NaN`` but for
        the weight where nothing is known.
    """
    found = np.empty((len(start) - 1, 3 + len(shares)))
    most = 1
    for one in range(len(start) - 1):
        most = max(most, start[one + 1] - start[one])
    kept, weighed, spare = np.empty(most), np.ones(most), np.empty((2, most))
    for one in range(len(start) - 1):
        count = 0
        for at in range(start[one], start[one + 1]):
            kept[count] = values[at]
            if len(weight):
                weighed[count] = weight[at]
            count += not np.isnan(values[at])
        summarise(kept[:count], weighed[:count], spare, shares, found[one])
    return found


@kernel
def band_summaries(
    band: NDArray[np.floating],
    water: NDArray[np.floating],
    runs: tuple[Ints, Ints, Ints, Floats],
    shares: Floats,
) -> Floats:
    """Return ``summaries`` of each swim straight from a layer.

    ``band`` is a layer and ``water`` the depth, each as one flat array; cells without
    depth are left out. ``runs`` are first cells, lengths, where each swim's begin,
    and weights (see ``pegscore.outlines.Runs``).
    """
    first, length, swim, weight = runs
    found = np.empty((len(swim) - 1, 3 + len(shares)))
    most = widest(length, swim)
    kept, weighed, spare = np.empty(most), np.ones(most), np.empty((2, most))
    counts, guess = np.empty((2, WHOLE_BUCKETS), np.int64), np.zeros((2, len(shares)))
    cell = 0
    for one in range(len(swim) - 1):
        span = (swim[one], swim[one + 1])
        if not len(weight):
            count = whole_cells(band, water, first, length, span, kept)
            whole_summary(
                kept[:count], spare[0], counts, shares, guess[one & 1], found[one]
            )
            continue
        count = 0
        for run in range(span[0], span[1]):
            for at in range(first[run], first[run] + length[run]):
                kept[count], weighed[count] = band[at], weight[cell]
                cell += 1
                count += not (np.isnan(band[at]) or np.isnan(water[at]))
        summarise(kept[:count], weighed[:count], spare, shares, found[one])
    return found


@kernel
def class_shares(
    band: NDArray[np.integer], classes: int, runs: tuple[Ints, Ints, Ints, Floats]
) -> Floats:
    """Return the share of each class 0, 1, ... in each swim; others are unknown."""
    first, length, swim, weight = runs
    found = np.empty((len(swim) - 1, classes))
    # the last one for what is unknown; four in turn, so that none waits for another
    sums = np.zeros((4, classes + 1))
    cell = 0
    for one in range(len(swim) - 1):
        sums[:] = 0.0
        for run in range(swim[one], swim[one + 1]):
            for at in range(first[run], first[run] + length[run]):
                kind = int(band[at])
                kind = kind if 0 <= kind < classes else classes
                sums[at & 3, kind] += weight[cell] if len(weight) else 1.0
                cell += 1
        total = np.sum(sums, axis=0)[:classes]
        found[one] = total / np.sum(total)
    return found


@kernel
def band_means(
    band: NDArray[np.floating],
    water: NDArray[np.floating],
    runs: tuple[Ints, Ints, Ints, Floats],
) -> Floats:
    """Return the mean alone, as ``band_summaries`` has it."""
    first, length, swim, weight = runs
    found = np.empty(len(swim) - 1)
    cell = 0
    for one in range(len(swim) - 1):
        total, above = 0.0, 0.0
        for run in range(swim[one], swim[one + 1]):
            for at in range(first[run], first[run] + length[run]):
                own = weight[cell] if len(weight) else 1.0
                cell += 1
                if not (np.isnan(band[at]) or np.isnan(water[at])):
                    total += own
                    above += own * band[at]
        found[one] = above / total if total > 0.0 else np.nan
    return found


@kernel
def widest(length: Ints, swim: Ints) -> int:
    """Return the number of cells of the largest swim, and at least 1."""
    most = 1
    for one in range(len(swim) - 1):
        cells = 0
        for run in range(swim[one], swim[one + 1]):
            cells += length[run]
        most = max(most, cells)
    return most


@kernel
def summarise(
    values: Floats, weight: Floats, spare: Floats, shares: Floats, found: Floats
) -> None:
    """Fill a row of ``summaries`` from known values; ``spare`` is room to work in."""
    total, mean = moment(values, weight, 0.0, 1)
    found[:] = np.nan
    found[0] = total
    if not total > 0.0:
        return
    found[1] = mean
    found[2] = np.sqrt(moment(values, weight, mean, 2)[1])
    for number in range(len(shares)):
        found[3 + number] = quantile(values, weight, spare, total, shares[number])


@kernel
def moment(
    values: Floats, weight: Floats, about: float, power: int
) -> tuple[float, float]:
    """Return the total weight and the weighted mean of ``(value - about) ** power``.

    Four sums side by side, so that a processor need not wait for each addition.
    """
    total, above = np.zeros(4), np.zeros(4)
    for at in range(len(values)):
        off = values[at] - about
        total[at & 3] += weight[at]
        above[at & 3] += weight[at] * (off if power == 1 else off * off)
    weight_of_all = (total[0] + total[1]) + (total[2] + total[3])
    return weight_of_all, (
        (above[0] + above[1]) + (above[2] + above[3])
    ) / weight_of_all


@kernel
def quantile(
    values: Floats, weight: Floats, spare: Floats, total: float, share: float
) -> float:
    """Return one quantile of known values, without changing them."""
    size = len(values)
    kept, weighed = spare[0, :size], spare[1, :size]
    kept[:], weighed[:] = values, weight
    heaviest = np.max(weight)
    rank, before = 0.0, 0.0
    wanted = share * (size - 1) * total
    while True:
        low, high = np.min(kept), np.max(kept)
        scale = BUCKETS / (high - low) if high > low else np.inf
        if high == low or share <= 0.0 or (share >= 1.0 and size > 1):
            return high if share >= 1.0 else low
        if len(kept) <= FEW or not np.isfinite(scale):
            break
        rest = narrowed(
            kept, weighed, (low, scale), (rank, before, wanted, size - 1, heaviest)
        )
        if rest[0] == len(kept):
            break
        kept, weighed = kept[: rest[0]], weighed[: rest[0]]
        rank, before = rest[1], rest[2]
    put_in_order(kept, weighed)
    return read_off(kept, weighed, (rank, before, wanted, size - 1))


@kernel
def narrowed(
    kept: Floats,
    weighed: Floats,
    scaling: tuple[float, float],
    place: tuple[float, float, float, int, float],
) -> tuple[int, float, float]:
    """Keep the buckets in which the wanted place can lie, at the front.

    Returns how many values are kept, and the count and weight of all before them. The
    ``k``-th value stands at ``S(k)`` (see ``swim_quantiles``); a bucket's first stands
    no higher than with the heaviest weight, its last no lower.
    """
    low, scale = scaling
    rank, before, wanted, steps, heaviest = place
    count, mass = np.zeros(BUCKETS), np.zeros(BUCKETS)
    for at in range(len(kept)):
        bucket = min(int((kept[at] - low) * scale), BUCKETS - 1)
        count[bucket] += 1.0
        mass[bucket] += weighed[at]
    first, last, rank_kept, before_kept = 0, BUCKETS - 1, rank, before
    for bucket in range(BUCKETS):
        if count[bucket] and rank * heaviest + steps * before <= wanted:
            first, rank_kept, before_kept = bucket, rank, before
        rank, before = rank + count[bucket], before + mass[bucket]
        if steps * before - (steps + 1 - rank) * heaviest > wanted:
            last = bucket
            break
    left = 0
    for at in range(len(kept)):
        value, own = kept[at], weighed[at]
        kept[left], weighed[left] = value, own
        left += first <= min(int((value - low) * scale), BUCKETS - 1) <= last
    return left, rank_kept, before_kept


@kernel
def put_in_order(values: Floats, weight: Floats) -> None:
    """Sort values, and their weights with them, in place."""
    if len(values) > FEW:  # too many powers of ten, or too few values, for buckets
        order = np.argsort(values, kind="mergesort")  # equal ones stay in order
        values[:], weight[:] = values[order], weight[order]
        return
    for at in range(1, len(values)):
        value, own, back = values[at], weight[at], at
        while back and values[back - 1] > value:
            values[back], weight[back] = values[back - 1], weight[back - 1]
            back -= 1
        values[back], weight[back] = value, own


@kernel
def read_off(
    values: Floats, weight: Floats, place: tuple[float, float, float, int]
) -> float:
    """Return the quantile by straight lines between values in order."""
    rank, before, wanted, steps = place
    here = rank * weight[0] + steps * before
    for at in range(1, len(values)):
        before += weight[at - 1]
        there = (rank + at) * weight[at] + steps * before
        if there > wanted:
            along = min(max((wanted - here) / (there - here), 0.0), 1.0)
            return float(values[at - 1] + along * (values[at] - values[at - 1]))
        here = there
    return float(values[-1])
