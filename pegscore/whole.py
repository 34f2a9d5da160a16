"""Compiled: mean, spread and quantiles of cells that all count whole.

What ``pegscore.selection`` does for weights, in half the time: a swim by centres has
none. Loaded only where the work pays for numba; everything here is called compiled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.compiled import kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

BUCKETS = 256
NEAR = 0.045
"""So many standard deviations round a neighbour's quantile the next one's is sought:
some twenty of four hundred values, measured to be near the best."""

FEW = 48
"""So few values are put in order by insertion."""


@kernel
def whole_cells(
    band: NDArray[np.floating],
    water: NDArray[np.floating],
    first: Ints,
    length: Ints,
    span: tuple[int, int],
    kept: Floats,
) -> int:
    """Copy a swim's known values to ``kept`` and return how many they are."""
    count = 0
    for run in range(span[0], span[1]):
        for at in range(first[run], first[run] + length[run]):
            value, deep = band[at], water[at]
            kept[count] = value
            # a NaN is the one number that does not equal itself
            count += int(value == value) & int(deep == deep)  # noqa: PLR0124 - faster
    return count


@kernel
def whole_summary(
    values: Floats,
    spare: Floats,
    counts: Ints,
    shares: Floats,
    guess: Floats,
    found: Floats,
) -> None:
    """Fill a row of ``pegscore.selection.summaries`` from known values.

    ``spare`` is room for as many values, ``counts`` for two numbers a bucket.
    ``guess`` says where the swim before last, on the same bank where banks take turns,
    had its quantiles, in standard deviations from its mean: a neighbour's lie near. It
    saves time and changes no digit.
    """
    found[:] = np.nan
    found[0] = len(values)
    if not len(values):
        return
    mean, low, high = mean_and_ends(values)
    found[1] = mean
    found[2] = np.sqrt(mean_square(values, mean))
    for number in range(len(shares)):
        share, spread = shares[number], found[2]
        about = (mean + (guess[number] - NEAR) * spread, 2.0 * NEAR * spread)
        value = guessed_quantile(values, spare, share, about)
        if value != value:  # noqa: PLR0124 - NaN: the guess was wrong
            value = whole_quantile(values, spare, counts, share, (low, high))
        found[3 + number] = value
        if spread > 0.0:
            guess[number] = (value - mean) / spread


@kernel
def mean_and_ends(values: Floats) -> tuple[float, float, float]:
    """Return mean, least and greatest; four sums side by side, none waits."""
    one = two = three = four = 0.0
    low = high = values[0]
    whole = len(values) - len(values) % 4
    for at in range(0, whole, 4):
        a, b, c, d = values[at], values[at + 1], values[at + 2], values[at + 3]
        one, two, three, four = one + a, two + b, three + c, four + d
        least, most = min(a, b), max(a, b)
        low = min(low, min(least, min(c, d)))  # noqa: PLW3301 - pairs need not wait
        high = max(high, max(most, max(c, d)))  # noqa: PLW3301
    for at in range(whole, len(values)):
        one += values[at]
        low, high = min(low, values[at]), max(high, values[at])
    return ((one + two) + (three + four)) / len(values), low, high


@kernel
def mean_square(values: Floats, about: float) -> float:
    """Return the mean of the squared distances from a value."""
    one = two = three = four = 0.0
    whole = len(values) - len(values) % 4
    for at in range(0, whole, 4):
        a, b = values[at] - about, values[at + 1] - about
        c, d = values[at + 2] - about, values[at + 3] - about
        one, two, three, four = one + a * a, two + b * b, three + c * c, four + d * d
    for at in range(whole, len(values)):
        one += (values[at] - about) * (values[at] - about)
    return ((one + two) + (three + four)) / len(values)


@kernel
def guessed_quantile(
    values: Floats, spare: Floats, share: float, about: tuple[float, float]
) -> float:
    """Return a quantile if it lies in a narrow range (start, width), else ``NaN``."""
    low, high = about[0], about[0] + about[1]
    place = min(max(share, 0.0), 1.0) * (len(values) - 1)
    nth = int(place)
    after = min(nth + 1, len(values) - 1)
    before, kept = 0, 0
    for at in range(len(values)):
        value = values[at]
        spare[kept] = value
        before += int(value < low)
        kept += int(value >= low) & int(value <= high)
    if before > nth or before + kept <= after or kept > FEW:
        return np.nan
    return between(spare[:kept], nth - before, after - before, place - nth)


@kernel
def whole_quantile(
    values: Floats,
    spare: Floats,
    counts: Ints,
    share: float,
    ends: tuple[float, float],
) -> float:
    """Return a quantile by straight lines between the values about its place."""
    low, high = ends
    place = min(max(share, 0.0), 1.0) * (len(values) - 1)
    nth = int(place)
    after = min(nth + 1, len(values) - 1)
    scale = BUCKETS / (high - low) if high > low else np.inf
    if not np.isfinite(scale):
        ordered = np.sort(values)
        return float(ordered[nth] + (place - nth) * (ordered[after] - ordered[nth]))
    counts[:] = 0
    for at in range(len(values)):  # two rows in turn: like neighbours need not wait
        counts[at & 1, min(int((values[at] - low) * scale), BUCKETS - 1)] += 1
    counts[0] += counts[1]
    first, before = 0, 0
    while before + counts[0, first] <= nth:
        before += counts[0, first]
        first += 1
    last, until = first, before + counts[0, first]
    while until <= after:
        last += 1
        until += counts[0, last]
    kept = 0
    for at in range(len(values)):
        spare[kept] = values[at]
        kept += first <= min(int((values[at] - low) * scale), BUCKETS - 1) <= last
    return between(spare[:kept], nth - before, after - before, place - nth)


@kernel
def between(values: Floats, nth: int, after: int, along: float) -> float:
    """Return the place between the ``nth`` and a later value; ``values`` change."""
    if len(values) > FEW:  # too uneven for buckets: divide about pivots instead
        parted = np.partition(values, nth)
        above = np.min(parted[after:]) if after > nth else parted[nth]
        return float(parted[nth] + along * (above - parted[nth]))
    for at in range(1, len(values)):
        value, back = values[at], at
        while back and values[back - 1] > value:
            values[back] = values[back - 1]
            back -= 1
        values[back] = value
    return float(values[nth] + along * (values[after] - values[nth]))
