"""Shapes cut with the water near them: a long river costs no more a metre.

Cutting a shape with a river's whole outline looks at every corner of the outline. The
shapes are halved by where they lie until few are left, and the outline is cut down to
their surroundings on the way, so that each meets a few dozen corners.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Shapes = NDArray[np.object_]

FEW = 64
"""So many shapes are cut with one piece of the water; measured to be near the best."""

MARGIN_M = 1.0
"""The piece reaches this far beyond the shapes, so that its own cuts touch none."""


def meet(shapes: Shapes, waters: Shapes | BaseGeometry) -> Shapes:
    """Return what each shape has in common with its water.

    Parameters
    ----------
    shapes : array of geometries, shape (n,)
    waters : polygon, or array of them, shape (n,)

    Returns
    -------
    array of geometries, shape (n,)
        As ``shapely.intersection(shapes, waters)`` gives them, to the rounding of
        where the outline is cut.

    Examples
    --------
    >>> lines = shapely.linestrings([[(x, -5), (x, 5)] for x in range(0, 1000, 10)])
    >>> met = meet(lines, shapely.box(0, -2, 1000, 2))
    >>> set(shapely.length(met).round(9).tolist())
    {4.0}
    """
    owners = np.broadcast_to(np.asarray(waters, object), shapes.shape)
    met: Shapes = np.empty(len(shapes), object)
    for water in {id(one): one for one in owners}.values():
        own = np.flatnonzero([one is water for one in owners])
        for some, near in _pieces(shapes, own, water):
            met[some] = shapely.intersection(shapes[some], near)
    return met


def _pieces(
    shapes: Shapes, own: Ints, water: BaseGeometry
) -> Iterator[tuple[Ints, BaseGeometry]]:
    """Yield few shapes at a time, by number, with the water round them."""
    bounds = np.full((len(shapes), 4), np.nan)
    bounds[own] = shapely.bounds(shapes[own])
    empty = np.isnan(bounds[own, 0])
    if empty.any():
        yield own[empty], water
    left = [(own[~empty], water)]
    while left:
        some, around = left.pop()
        if not len(some):
            continue
        near = _cut_down(around, bounds[some])
        if len(some) <= FEW:
            yield some, near
        else:
            left.extend((half, near) for half in _halves(some, bounds[some]))


def _cut_down(water: BaseGeometry, bounds: Floats) -> BaseGeometry:
    west, south = bounds[:, :2].min(axis=0) - MARGIN_M
    east, north = bounds[:, 2:].max(axis=0) + MARGIN_M
    near: BaseGeometry = water.intersection(shapely.box(west, south, east, north))
    return near


def _halves(some: Ints, bounds: Floats) -> tuple[Ints, Ints]:
    """Part shapes by the middle of the longer side of the box round them."""
    middle = bounds[:, :2] + bounds[:, 2:]
    side = int(np.argmax(np.ptp(middle, axis=0)))
    order = some[np.argsort(middle[:, side], kind="stable")]
    return order[: len(order) // 2], order[len(order) // 2 :]
