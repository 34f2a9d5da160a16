"""The settled flow of every stretch of a river, from the streamtubes' answer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from threadpoolctl import threadpool_limits

from layers.newton import settle
from layers.plane import Plane

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from layers.streamtube import Bed, March

    Array = NDArray[np.float64]

FEWEST_SECTIONS = 3
MOST_NODES = 250_000
"""Beyond so many the band of equations asks for too much memory (proposal)."""


def settled_flow(bed: Bed, start: March) -> tuple[Array, Array] | None:
    """Return velocity along and across the channel for one cubic metre a second.

    Each stretch of sections with water in them is settled for itself: water comes
    in as the march has it and leaves straight.

    Parameters
    ----------
    bed : Bed
        The sections.
    start : March
        Where to begin.

    Returns
    -------
    tuple of two arrays of float, shape (sections, nodes), or None
        1/m², across positive to the left; 0 where dry. ``None`` if a stretch would
        not settle or there are too many nodes.
    """
    if bed.depth_m.size > MOST_NODES:
        return None
    along, across = np.zeros((2, *bed.depth_m.shape))
    for part in _stretches(bed):
        if part.stop - part.start < FEWEST_SECTIONS:
            along[part] = start.unit_speed[part]
            continue
        found = _settled_part(bed, start, part)
        if found is None:
            return None
        along[part], across[part] = found
    return along, across


def _stretches(bed: Bed) -> Iterator[slice]:
    """Yield the runs of neighbouring sections that hold water."""
    watery = (bed.depth_m * bed.strip_m > 0).any(axis=1)
    edge = np.flatnonzero(np.diff(np.pad(watery.astype(np.int8), 1)))
    for first, last in edge.reshape(-1, 2).tolist():
        yield slice(first, last)


def _settled_part(bed: Bed, start: March, part: slice) -> tuple[Array, Array] | None:
    plane = Plane(
        bed=replace(
            bed,
            strip_m=bed.strip_m[part],
            curvature=bed.curvature[part],
            depth_m=bed.depth_m[part],
            roughness=bed.roughness[part],
        )
    )
    area_m2 = np.where(plane.wet, plane.area_m2, 0.0)
    passing = start.unit_speed[part] * area_m2
    total = passing.sum(axis=1, keepdims=True)
    if not (total > 0).all():
        return None
    stream = np.zeros((passing.shape[0], passing.shape[1] + 1))
    stream[:, 1:] = np.cumsum(passing / total, axis=1)
    second = float(np.median(area_m2.sum(axis=1))) * bed.step_m
    with threadpool_limits(1, "blas"):  # so narrow a band is no work for several
        settled = settle(plane.balance, stream, second=second)
    if settled is None:
        return None
    along, across = plane.velocity(settled)
    return np.where(plane.wet, along, 0.0), np.where(plane.wet, across, 0.0)
