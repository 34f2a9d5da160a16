"""Water in the lee of what stands in the stream, by geometry alone.

Behind a groyne, a point or the upstream corner of a bay the stream leaves the bank
and comes back to it only some way down; between lies an eddy that no depth-averaged
march without eddies can make.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

LEE_LENGTHS = 5.0
"""A lee is so many times as long as what makes it sticks out into the stream.

An eddy is 4 to 6 times as long: common practice [C]; about 6 step heights behind a
backward-facing step, from memory of many published experiments [M]. The stream so
widens by 1 in 5 at most, and gentler widening makes no lee. Rather short: in full
shallow-water flow past groynes of 5 and 8 m in a channel of 40 m (mixing after Elder,
tests only) the eddy was 8 lengths long and more; all of the lee drawn here was slow or
turned back, and it was 0.3 to 0.4 of all that was.
"""

LEAST_OBSTACLE_M = 2.0
"""What sticks out less makes no lee worth a mark; nor does what is narrower than two
cells, which may be the staircase of the grid. [P]"""


def find_lees(dry: Mask, wet: Mask, *, step_m: float) -> Mask:
    """Return the wet nodes in the lee of dry ones upstream.

    Beyond the first and the last node lies dry land. The shadow of what is dry narrows
    from its open sides by ``1 / LEE_LENGTHS`` of a metre each metre downstream: a
    groyne of length L throws a triangle 5 L long, an island one that closes from both
    sides.

    Parameters
    ----------
    dry, wet : array of bool, shape (sections, nodes)
        Sections are numbered downstream. What is neither is unknown: it throws no
        shadow and gets no mark.
    step_m : float
        Between sections and between nodes, metres.

    Examples
    --------
    A groyne of four metres from the right bank, in the second section of 1 m cells;
    half a metre off the bank 3.5 m of it are left, so that its lee ends after 17.5 m:

    >>> wet = np.zeros((30, 12), bool)
    >>> wet[:, 1:11] = True
    >>> wet[1, 1:5] = False
    >>> lee = find_lees(~wet, wet, step_m=1.0)
    >>> int(lee[:, 1].sum()), int(lee[:, 4].sum()), int(lee[:, 5].sum())
    (17, 2, 0)
    """
    within = _inside_m(dry, step_m)
    shade = np.zeros(dry.shape)
    shade[0] = within[0]
    for section in range(1, len(dry)):
        faded = shade[section - 1] - step_m / LEE_LENGTHS
        shade[section] = np.maximum(within[section], faded)
    lee = wet & (shade > _CLOSE_M)
    return _of_real_obstacles(lee, shade, step_m)


_CLOSE_M = 1e-9


def _inside_m(dry: Mask, step_m: float) -> Array:
    """Return how far inside what is dry each node lies, across; 0 where it is not.

    The edge lies half way between a dry node and the next that is not.
    """
    nodes = np.arange(dry.shape[1])
    low, high = -(10**6), 10**6
    last_open = np.maximum.accumulate(np.where(dry, low, nodes), axis=1)
    next_open = np.minimum.accumulate(np.where(dry, high, nodes)[:, ::-1], axis=1)
    inside = np.minimum(nodes - last_open, next_open[:, ::-1] - nodes)
    inside[inside > 2 * dry.shape[1]] = 0  # a section with no water tells nothing
    found: Array = np.maximum(inside - 0.5, 0.0) * step_m
    return found


def _of_real_obstacles(lee: Mask, shade: Array, step_m: float) -> Mask:
    """Keep the lees of what sticks out far enough."""
    labels, count = ndimage.label(lee, structure=np.ones((3, 3)))
    if not count:
        return lee
    depth_m = ndimage.maximum(shade, labels, np.arange(1, count + 1))
    least_m = max(LEAST_OBSTACLE_M, 2 * step_m)
    # at the first node behind the obstacle, by the bank
    deepest_m = least_m - step_m / 2 - step_m / LEE_LENGTHS
    real = np.concatenate([[False], np.asarray(depth_m) >= deepest_m - _CLOSE_M])
    kept: Mask = real[labels]
    return kept
