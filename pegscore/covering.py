"""Compiled: the exact share that a swim takes of each cell.

The sums of ``pegscore.coverage``, one swim at a time: every straight piece is
followed from grid line to grid line; it adds the area between itself and the right
side of its cell, and its height to all cells further right in the row.

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
    Frame = tuple[float, float, float, int, int]
    Window = tuple[int, int, int, int]

LEAST_SHARE = 1e-9
"""As ``pegscore.coverage.LEAST_SHARE``; a test compares them."""


@kernel
def covered_runs(
    points: Floats, ring: Ints, swim: Ints, hole: NDArray[np.bool_], frame: Frame
) -> tuple[Ints, Ints, Ints, Floats]:
    """Return the runs of each swim, where each swim's begin, and a share a cell.

    ``frame`` is west, north, side of a cell, rows and columns of the grid.
    """
    runs, share = np.empty((2, 1024), np.int64), np.empty(8192)
    start, sums = np.zeros(len(swim), np.int64), np.zeros((2, 4096))
    found = (0, 0)
    for one in range(len(swim) - 1):
        begin, end = ring[swim[one]], ring[swim[one + 1]]
        if begin < end:
            own = in_cells(points[begin:end], frame)
            window = whole_window(own)
            size = (window[1] - window[0] + 1) * (window[3] - window[2] + 1)
            if size > sums.shape[1]:
                sums = np.zeros((2, 2 * size))
            for number in range(swim[one], swim[one + 1]):
                trace = own[ring[number] - begin : ring[number + 1] - begin]
                sign = 1.0 if (turn_of(trace) > 0.0) != hole[number] else -1.0
                for at in range(len(trace) - 1):
                    follow(sums, trace[at], trace[at + 1], sign, window)
            runs, share = roomier(runs, share, found, size)
            found = gather(sums, window, frame, runs, share, found)
        start[one + 1] = found[0]
    first, length = runs[0, : found[0]].copy(), runs[1, : found[0]].copy()
    return first, length, start, share[: found[1]].copy()


@kernel
def roomier(
    runs: Ints, share: Floats, found: tuple[int, int], size: int
) -> tuple[Ints, Floats]:
    """Return both arrays with room for one more swim."""
    if found[0] + size > runs.shape[1]:
        more_runs = np.empty((2, 2 * (found[0] + size)), np.int64)
        more_runs[:, : found[0]] = runs[:, : found[0]]
        runs = more_runs
    if found[1] + size > len(share):
        more_share = np.empty(2 * (found[1] + size))
        more_share[: found[1]] = share[: found[1]]
        share = more_share
    return runs, share


@kernel
def in_cells(points: Floats, frame: Frame) -> Floats:
    """Return points as (column, row), in cells from the grid's corner."""
    own = np.empty(points.shape)
    for at in range(len(points)):
        own[at, 0] = (points[at, 0] - frame[0]) / frame[2]
        own[at, 1] = (frame[1] - points[at, 1]) / frame[2]
    return own


@kernel
def whole_window(own: Floats) -> Window:
    """Return top, bottom, left and right of the cells round an outline."""
    top = left = np.inf
    bottom = right = -np.inf
    for at in range(len(own)):
        top, bottom = min(top, own[at, 1]), max(bottom, own[at, 1])
        left, right = min(left, own[at, 0]), max(right, own[at, 0])
    return (
        math.floor(top),
        math.floor(bottom),
        math.floor(left),
        math.floor(right),
    )


@kernel
def turn_of(trace: Floats) -> float:
    """Return twice a ring's area, positive if it is drawn clockwise on the map."""
    turn = 0.0
    for at in range(1, len(trace) - 1):
        one_x, one_y = trace[at, 0] - trace[0, 0], trace[at, 1] - trace[0, 1]
        two_x, two_y = trace[at + 1, 0] - trace[0, 0], trace[at + 1, 1] - trace[0, 1]
        turn += one_x * two_y - two_x * one_y
    return turn


@kernel
def follow(
    sums: Floats, start: Floats, end: Floats, sign: float, window: Window
) -> None:
    """Add one straight piece to the sums, cut where it crosses a grid line."""
    run, fall = end[0] - start[0], end[1] - start[1]
    if fall == 0.0:
        return
    column, right = next_line(start[0], run)
    row, down = next_line(start[1], fall)
    done = 0.0
    while done < 1.0:
        to_column = (column - start[0]) / run if run != 0.0 else 1.0
        to_row = (row - start[1]) / fall
        until = min(to_column, to_row, 1.0)
        middle = (done + until) / 2
        height = -sign * (until - done) * fall
        if height != 0.0:
            add(sums, start[0] + middle * run, start[1] + middle * fall, height, window)
        column += right if to_column <= until else 0.0
        row += down if to_row <= until else 0.0
        done = max(until, done)


@kernel
def next_line(place: float, step: float) -> tuple[float, float]:
    """Return the first grid line ahead of a place, and the way from line to line."""
    if step > 0.0:
        return math.floor(place) + 1.0, 1.0
    return math.ceil(place) - 1.0, -1.0


@kernel
def add(sums: Floats, x: float, y: float, height: float, window: Window) -> None:
    """Add a piece that lies in one cell, given its middle."""
    top, bottom, left, right = window
    column = min(max(math.floor(x), left), right)
    row = min(max(math.floor(y), top), bottom)
    at = (row - top) * (right - left + 1) + column - left
    sums[0, at] += height * (1.0 - (x - column))
    sums[1, at] += height


@kernel
def gather(
    sums: Floats,
    window: Window,
    frame: Frame,
    runs: Ints,
    share: Floats,
    found: tuple[int, int],
) -> tuple[int, int]:
    """Turn a swim's sums into runs and shares, wipe them, and return how many."""
    top, bottom, left, right = window
    count, cells = found
    at = 0
    for row in range(top, bottom + 1):
        passed_on, run = 0.0, 0
        for column in range(left, right + 1):
            here = sums[0, at] + passed_on
            passed_on += sums[1, at]
            sums[0, at] = sums[1, at] = 0.0
            at += 1
            on_grid = 0 <= row < frame[3] and 0 <= column < frame[4]
            if on_grid and here > LEAST_SHARE:
                share[cells] = 1.0 if here > 1.0 - LEAST_SHARE else here
                runs[0, count], runs[1, count] = row * frame[4] + column - run, run + 1
                cells, run = cells + 1, run + 1
            elif run:
                count, run = count + 1, 0
        count += run > 0
    return count, cells
