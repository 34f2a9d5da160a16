"""Compiled: the cells whose centre lies in a swim, row by row of the grid.

Where an outline crosses the line through the centres of a row, the first cell at or
beyond the crossing is marked; between a first and a second mark a row is inside.
A centre that lies on an outline is in no swim, as ``shapely.contains_xy`` has it:
such centres are told by the sign of a determinant in twice the usual digits, and
the centres are the very numbers of ``Grid.centres``.

Loaded only where the work pays for numba; everything here is called compiled.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from pegscore.compiled import kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Flags = NDArray[np.uint8]
    Frame = tuple[float, float, float, int, int]
    Window = tuple[int, int, int, int]

CROSSED, ON_EDGE = 1, 2
"""Marks of a cell: the inside begins or ends here; its centre is on an outline."""

CLOSE = 1e-5
"""A crossing this near a centre, in cells, is looked at with more digits."""

MOST = 8
"""Rows crossed more often than this are done with marks, like swims with ties."""


@kernel
def centre_runs(
    points: Floats, ring: Ints, swim: Ints, frame: Frame
) -> tuple[Ints, Ints, Ints]:
    """Return the runs (first cell, length) of each swim and where each swim's begin.

    ``frame`` is west, north, side of a cell, rows and columns of the grid.
    """
    first, length = np.empty(1024, np.int64), np.empty(1024, np.int64)
    start = np.zeros(len(swim), np.int64)
    crossed, count = np.empty((256, MOST), np.int64), np.zeros(256, np.int64)
    found = 0
    for one in range(len(swim) - 1):
        rings = ring[swim[one] : swim[one + 1] + 1]
        window = bounding_window(points, rings[0], rings[-1], frame)
        rows, width = window[1] - window[0] + 1, window[3] - window[2] + 2
        if rows > 0 and width > 1:
            if rows > len(count):
                crossed = np.empty((2 * rows, MOST), np.int64)
                count = np.zeros(2 * rows, np.int64)
            if found + rows * width > len(first):
                size = 2 * (found + rows * width)
                first, length = longer(first, size), longer(length, size)
            plain = True
            for number in range(len(rings) - 1):
                span = (rings[number], rings[number + 1])
                plain = plain and cross(points, span, frame, window, crossed, count)
            if plain:
                found = pair_up(crossed, count, window, frame[4], first, length, found)
            else:
                found = mark(points, rings, frame, window, first, length, found)
            count[:rows] = 0
        start[one + 1] = found
    return first[:found].copy(), length[:found].copy(), start


@kernel
def cross(
    points: Floats,
    span: tuple[int, int],
    frame: Frame,
    window: Window,
    crossed: Ints,
    count: Ints,
) -> bool:
    """Note, in order, the first cell at or beyond each crossing of a ring and a row.

    Returns False, having noted only a part, where a centre may lie on the outline.
    """
    west, north, cell_m = frame[0], frame[1], frame[2]
    top, bottom, left, right = window
    # near a centre, where the last digit of a product counts, ``CLOSE`` asks for care
    a_cell = 1.0 / cell_m
    for at in range(span[0], span[1] - 1):
        x, y_start, y_end = points[at, 0], points[at, 1], points[at + 1, 1]
        row = math.floor((north - y_start) * a_cell)
        if north - (row + 0.5) * cell_m == y_start:
            return False
        low, high = min(y_start, y_end), max(y_start, y_end)
        row = int(max((north - high) * a_cell - 1.5, float(top)))
        slope = (points[at + 1, 0] - x) / (y_end - y_start) if low < high else 0.0
        while row <= bottom and north - (row + 0.5) * cell_m > high:
            row += 1
        while row <= bottom and north - (row + 0.5) * cell_m > low:
            y = north - (row + 0.5) * cell_m
            place = (x + (y - y_start) * slope - west) * a_cell - 0.5
            slot = count[row - top]
            if abs(place - math.floor(place + 0.5)) < CLOSE or slot == MOST:
                return False
            column = int(min(max(math.ceil(place), left), right + 1))
            while slot and crossed[row - top, slot - 1] > column:
                crossed[row - top, slot] = crossed[row - top, slot - 1]
                slot -= 1
            crossed[row - top, slot] = column
            count[row - top] += 1
            row += 1
    return True


@kernel
def pair_up(
    crossed: Ints,
    count: Ints,
    window: Window,
    columns: int,
    first: Ints,
    length: Ints,
    found: int,
) -> int:
    """Turn the crossings of a swim's rows into runs; return how many runs there are."""
    top, bottom = window[0], window[1]
    for row in range(top, bottom + 1):
        end = -1
        for slot in range(0, count[row - top], 2):
            one, two = crossed[row - top, slot], crossed[row - top, slot + 1]
            if two > one and one == end:
                length[found - 1] += two - one
            elif two > one:
                first[found], length[found] = row * columns + one, two - one
                found += 1
            end = two if two > one else end
    return found


@kernel
def mark(
    points: Floats,
    rings: Ints,
    frame: Frame,
    window: Window,
    first: Ints,
    length: Ints,
    found: int,
) -> int:
    """Do a swim with marks on its cells, which know of centres on the outline."""
    top, bottom, left, right = window
    flags = np.zeros((bottom - top + 1) * (right - left + 2), np.uint8)
    for number in range(len(rings) - 1):
        for at in range(rings[number], rings[number + 1] - 1):
            mark_edge(flags, points[at], points[at + 1], frame, window)
    return collect(flags, window, frame[4], first, length, found)


@kernel
def longer(array: Ints, size: int) -> Ints:
    """Return a copy with room for ``size`` entries."""
    grown = np.empty(size, array.dtype)
    grown[: len(array)] = array
    return grown


@kernel
def bounding_window(points: Floats, begin: int, end: int, frame: Frame) -> Window:
    """Return top, bottom, left and right of the grid's cells round some points."""
    west, north, cell_m, rows, columns = frame
    low_x = low_y = np.inf
    high_x = high_y = -np.inf
    for at in range(begin, end):
        x, y = points[at, 0], points[at, 1]
        low_x, high_x = min(low_x, x), max(high_x, x)
        low_y, high_y = min(low_y, y), max(high_y, y)
    if begin == end:
        return 0, -1, 0, -1
    top = max(math.floor((north - high_y) / cell_m), 0.0)
    bottom = min(math.floor((north - low_y) / cell_m), rows - 1.0)
    left = max(math.floor((low_x - west) / cell_m), 0.0)
    right = min(math.floor((high_x - west) / cell_m), columns - 1.0)
    return int(top), int(bottom), int(left), int(right)


@kernel
def mark_edge(
    flags: Flags, start: Floats, end: Floats, frame: Frame, window: Window
) -> None:
    """Mark where one straight piece of an outline crosses the rows' centre lines."""
    west, north, cell_m = frame[0], frame[1], frame[2]
    top, bottom, left, right = window
    mark_corner(flags, start, end, frame, window)
    low, high = min(start[1], end[1]), max(start[1], end[1])
    row = int(max((north - high) / cell_m - 1.5, float(top)))
    while row <= bottom and north - (row + 0.5) * cell_m > high:
        row += 1
    slope = (end[0] - start[0]) / (end[1] - start[1]) if low < high else 0.0
    while row <= bottom:
        y = north - (row + 0.5) * cell_m
        if y <= low:
            break
        x = start[0] + (y - start[1]) * slope
        place = min(max((x - west) / cell_m - 0.5, left - 1.0), right + 1.0)
        column = math.ceil(place)
        nearest = math.floor(place + 0.5)
        line = (row - top) * (right - left + 2) - left
        if abs(place - nearest) < CLOSE:
            side = beyond(start, end, west + (nearest + 0.5) * cell_m, y)
            column = nearest if side >= 0 else nearest + 1
            if side == 0 and left <= nearest <= right:
                flags[line + nearest] |= ON_EDGE
        flags[line + min(max(column, left), right + 1)] ^= CROSSED
        row += 1


@kernel
def mark_corner(
    flags: Flags, start: Floats, end: Floats, frame: Frame, window: Window
) -> None:
    """Mark centres on a corner, or on a piece that runs along a row's centre line."""
    west, north, cell_m = frame[0], frame[1], frame[2]
    top, bottom, left, right = window
    row = math.floor((north - start[1]) / cell_m)
    if not top <= row <= bottom or north - (row + 0.5) * cell_m != start[1]:
        return
    other = end[0] if start[1] == end[1] else start[0]
    low, high = min(start[0], other), max(start[0], other)
    column = max(math.floor((low - west) / cell_m), float(left))
    while column <= right and west + (column + 0.5) * cell_m <= high:
        if west + (column + 0.5) * cell_m >= low:
            flags[(row - top) * (right - left + 2) + int(column) - left] |= ON_EDGE
        column += 1


@kernel
def collect(
    flags: Flags, window: Window, columns: int, first: Ints, length: Ints, found: int
) -> int:
    """Turn a swim's marks into runs and return how many runs there are."""
    top, bottom, left, right = window
    at = 0
    for row in range(top, bottom + 1):
        inside, run = 0, 0
        for column in range(left, right + 2):
            flag = flags[at]
            at += 1
            inside ^= flag & CROSSED
            if inside and not flag & ON_EDGE and column <= right:
                run += 1
            elif run:
                first[found] = row * columns + column - run
                length[found] = run
                found += 1
                run = 0
    return found


@kernel
def beyond(start: Floats, end: Floats, x: float, y: float) -> int:
    """Return 1 if a point lies east of a piece, -1 west of it, 0 on it."""
    rise, rise_rest = exact_difference(end[1], start[1])
    run, run_rest = exact_difference(end[0], start[0])
    along, along_rest = exact_difference(x, start[0])
    up, up_rest = exact_difference(y, start[1])
    one, one_rest = double_product(along, along_rest, rise, rise_rest)
    two, two_rest = double_product(up, up_rest, run, run_rest)
    difference, rest = exact_difference(one, two)
    turn = difference + (rest + (one_rest - two_rest))
    if turn == 0.0:
        return 0
    return 1 if (turn > 0.0) == (rise > 0.0) else -1


@kernel
def exact_difference(a: float, b: float) -> tuple[float, float]:
    """Return a difference and what rounding took from it (Knuth's two-sum) [M]."""
    difference = a - b
    part = a - difference
    return difference, (a - (difference + part)) + (part - b)


@kernel
def double_product(
    a: float, a_rest: float, b: float, b_rest: float
) -> tuple[float, float]:
    """Return a product in twice the usual digits (Dekker 1971, split product) [M]."""
    product = a * b
    a_high = a * 134217729.0 - (a * 134217729.0 - a)
    b_high = b * 134217729.0 - (b * 134217729.0 - b)
    a_low, b_low = a - a_high, b - b_high
    rest = ((a_high * b_high - product) + a_high * b_low + a_low * b_high) + (
        a_low * b_low
    )
    return product, rest + (a * b_rest + a_rest * b)
