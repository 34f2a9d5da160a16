"""Blocked cross-validation of a survey: whole lines are left out, not points.

A sounding is close to the next one of its own line, so leaving out single
soundings says how well a line repeats itself, not how well the water between
two lines is known (reference notes 5.3). Here the unit left out is a line from
bank to bank, a leg of a zig-zag, or a stretch of a scattered survey.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Labels = NDArray[np.int64]
    Predict = Callable[[NDArray[np.bool_], NDArray[np.bool_]], Array]

FOLDS = 5
"""Every fifth line is left out at once, so that its neighbours always stay."""

TURN_SHARE = 0.25
"""A leg ends when the boat has come back by this share of the width."""

JUMP_FACTOR = 4.0
"""A step of this many usual steps begins another line."""

LONGEST_WIDTHS = 1.5
"""A run along the river is cut into pieces of this many channel widths."""

GAP_SHARE = 0.2
"""Bare river longer than this share of the width parts two lines."""

FEWEST_A_LINE = 4
"""Lines with fewer soundings than this on the whole are no lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """How a survey was run.

    Parameters
    ----------
    label : array of int64, shape (n,)
        The line of each sounding; lines are numbered downstream from 0.
    spacing_m : float
        Usual chainage between neighbouring lines, metres.
    kind : str
        ``lines`` or ``scattered``.
    """

    label: Labels
    spacing_m: float
    kind: str

    @property
    def count(self) -> int:
        """The number of lines."""
        return int(self.label.max(initial=-1)) + 1


def find_lines(chainage_m: ArrayLike, offset_m: ArrayLike, *, width_m: float) -> Lines:
    """Group soundings, in the order they were taken, into lines.

    Parameters
    ----------
    chainage_m, offset_m : array-like of shape (n,)
        Places in channel-fitted coordinates, in file order.
    width_m : float
        The channel's mean width.

    Returns
    -------
    Lines
        A survey without an order (most of its "lines" would hold fewer than
        four soundings) is cut into stretches along the river instead.

    Examples
    --------
    >>> along = np.repeat([0.0, 20.0, 40.0], 5)
    >>> across = np.tile([-8.0, -4.0, 0.0, 4.0, 8.0], 3)
    >>> lines = find_lines(along, across, width_m=20)
    >>> lines.label.tolist(), lines.spacing_m
    ([0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2], 20.0)
    """
    along, across = np.asarray(chainage_m, float), np.asarray(offset_m, float)
    raw, kind = _sections(along, width_m), "lines"
    if not _are_lines(raw, along):
        raw = _legs(along, across, width_m)
        short = len(along) < FEWEST_A_LINE * (raw.max(initial=0) + 1)
        # a track goes on from where it was; a shuffled file does not
        if short or np.median(_steps(along, across)) > width_m / 2:
            raw, kind = _stretches(along, width_m), "scattered"
    names, raw = np.unique(raw, return_inverse=True)
    middle = np.bincount(raw, along) / np.bincount(raw)
    rank = np.empty(len(names), np.int64)
    rank[np.argsort(middle, kind="stable")] = np.arange(len(names))
    return Lines(label=rank[raw], spacing_m=_spacing(middle, width_m), kind=kind)


def _spacing(middle_m: Array, width_m: float) -> float:
    """Return the usual gap between lines; lines run twice count once."""
    gaps = np.diff(np.sort(middle_m))
    apart = gaps[gaps > width_m / 20]
    return float(np.median(apart)) if len(apart) else width_m


def _sections(along: Array, width_m: float) -> Labels:
    """Cut where the river lies unsounded for a good part of its width."""
    order = np.argsort(along, kind="stable")
    bare = np.diff(along[order], prepend=along[order][:1]) > GAP_SHARE * width_m
    label = np.empty(len(along), np.int64)
    label[order] = np.cumsum(bare)
    return label


def _are_lines(label: Labels, along: Array) -> bool:
    """Tell whether groups are several narrow lines with bare river between."""
    count = np.bincount(label)
    fewest = 3
    if len(count) < fewest or count.mean() < FEWEST_A_LINE:
        return False
    middle = np.bincount(label, along) / count
    spread_m = float(np.mean(np.abs(along - middle[label])))
    return spread_m < float(np.mean(np.diff(middle))) / 8


def _steps(along: Array, across: Array) -> Array:
    """Return the way from each sounding to the next in the file."""
    steps: Array = np.hypot(np.diff(along), np.diff(across))
    return steps if len(steps) else np.zeros(1)


def _legs(along: Array, across: Array, width_m: float) -> Labels:
    """Cut a track where it jumps, turns back across the river or runs too long."""
    step = _steps(along, across)
    jump = step > max(JUMP_FACTOR * float(np.median(step)), 1e-9)
    label = np.zeros(len(along), np.int64)
    start, low, high = 0, 0, 0
    for at in range(1, len(along)):
        low = at if across[at] < across[low] else low
        high = at if across[at] > across[high] else high
        back = min(across[at] - across[low], across[high] - across[at])
        long = abs(along[at] - along[start]) > LONGEST_WIDTHS * width_m
        label[at] = label[at - 1]
        if jump[at - 1] or long:
            start = low = high = at
            label[at] += 1
        elif back > TURN_SHARE * width_m:
            start = max(low, high)  # the turning point itself stays with the leg
            label[start + 1 : at + 1] += 1
            low = high = start = min(start + 1, at)
    return label


def _stretches(along: Array, width_m: float) -> Labels:
    """Cut a scattered survey into stretches about as long as two soundings' gap."""
    extent = float(np.ptp(along)) if len(along) else 0.0
    # points spread evenly over extent x width lie this far apart
    apart = np.sqrt(max(extent * width_m, 1e-9) / max(len(along), 1))
    number: Labels = np.floor((along - along.min()) / (2 * apart)).astype(np.int64)
    return number


def folds(lines: Lines, count: int = FOLDS) -> Iterator[NDArray[np.bool_]]:
    """Yield masks of what to leave out: every ``count``-th line at a time."""
    for fold in range(min(count, lines.count)):
        out: NDArray[np.bool_] = lines.label % count == fold
        yield out


def left_out(
    values: Array, masks: Iterator[NDArray[np.bool_]], predict: Predict
) -> Array:
    """Return each value less its prediction from what was not left out with it.

    Parameters
    ----------
    values : array of shape (n,)
        What was measured.
    masks : iterator of bool arrays of shape (n,)
        What each fold leaves out.
    predict : callable
        ``predict(kept, wanted)`` returns predictions of the wanted points from
        the kept ones, both given as masks.

    Returns
    -------
    array of shape (n,)
        Errors, measured less predicted; ``NaN`` where no fold left a point out.
    """
    errors = np.full(len(values), np.nan)
    for out in masks:
        if out.any() and not out.all():
            errors[out] = values[out] - predict(~out, out)
    return errors
