"""Lines from bank to bank at right angles to the axis."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

    from layers.axis import Axis


def cross_lines(
    axis: Axis, water: Polygon, stations_m: NDArray[np.float64]
) -> NDArray[np.object_]:
    """Return a line from bank to bank at each station, across any island.

    Parameters
    ----------
    axis : Axis
        The smoothed centreline.
    water : Polygon
        The wetted area.
    stations_m : array of shape (n,)
        Chainages along the axis.

    Returns
    -------
    array of LineString, shape (n,)
        Empty where the axis' cross-line meets no water.
    """
    outline = shapely.Polygon(water.exterior)
    edge = shapely.get_coordinates(outline)
    _, edge_offset_m = axis.project(edge[:, 0], edge[:, 1])
    reach_m = np.full(len(stations_m), np.abs(edge_offset_m).max() + 1.0)
    ends = [axis.beside(stations_m, side * reach_m) for side in (-1, 1)]
    whole = shapely.linestrings(np.stack(ends, axis=1))
    # a long cross-line may meet another limb too: keep what holds the axis
    pieces, owner = shapely.get_parts(
        shapely.intersection(whole, outline), return_index=True
    )
    middle = shapely.points(axis.points(stations_m)[owner])
    order = np.lexsort((shapely.distance(pieces, middle), owner))
    stations, first = np.unique(owner[order], return_index=True)
    spans = np.full(len(stations_m), shapely.LineString(), object)
    spans[stations] = pieces[order][first]
    return spans
