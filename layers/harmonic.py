"""Channel coordinates that never fold: two heat problems solved over the water.

In a bend tighter than the channel is wide, lines at right angles to the axis
cross before they reach the inner bank, and one place gets several chainages.
Here one steady "temperature" runs from -1 at the right bank to 1 at the left,
another from 0 at the upstream end to 1 at the downstream end; neither has a peak
inside, so they never fold (the maximum principle of harmonic functions).

The first is scaled by half the width, the second read off as chainage along the
axis. Offsets are therefore metres only on average across a section. The solution
lives on a mesh of about 24 cells across: places are good to about half a cell.
Beyond a bank the offset grows with the distance from it, beyond an end the
chainage does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from layers.heatmesh import HeatMesh

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

    from layers.axis import Axis

    Array = NDArray[np.float64]

RIGHT, LEFT, UPSTREAM, DOWNSTREAM = range(4)
"""What a piece of the water's outline can be."""

END_SHARE = 0.15
"""An end may lean by this share of the width before it is taken for bank."""

CORNER_SHARE = 0.95
"""An end reaches this far from the axis towards its corners."""

NEWTON_STEPS = 12
"""Most steps of the way back from channel coordinates to the world."""


class HarmonicFrame:
    """Chainage and offset by harmonic functions.

    Parameters
    ----------
    axis : Axis
        The smoothed centreline.
    outline : Polygon
        The water without its islands.
    stations_m, half_width_m : array of shape (n,)
        Half the distance between the banks along the axis.
    """

    def __init__(
        self, axis: Axis, outline: Polygon, stations_m: Array, half_width_m: Array
    ) -> None:
        self._half = stations_m, half_width_m
        self._ring = outline.exterior
        self._outline = outline
        shapely.prepare(self._outline)
        self._edge, self._kind = _labelled_edge(axis, outline)
        self._edge_tree = cKDTree(self._edge)
        self._mesh = HeatMesh.over(outline, axis)
        faces = self._mesh.faces()
        kind = self._kind[self._edge_tree.query(faces)[1]]
        across = np.select([kind == RIGHT, kind == LEFT], [-1.0, 1.0], np.nan)
        along = np.select([kind == UPSTREAM, kind == DOWNSTREAM], [0.0, 1.0], np.nan)
        self._across = self._mesh.solve(across)
        self._along = self._mesh.solve(along)
        self._scale = self._chainages(axis)
        inside = self._mesh.centres()
        self._known = np.column_stack(self._inside(inside))
        self._inside_tree, self._inside_at = cKDTree(self._known), inside

    def _read(self, field: Array, places: Array) -> Array:
        """Return a field at world places, by straight lines between cells."""
        value: Array = map_coordinates(
            field, self._mesh.index(places).T, order=1, mode="nearest"
        )
        return value

    def _chainages(self, axis: Axis) -> tuple[Array, Array]:
        """Return the along-field and the chainage it stands for, both growing."""
        knots = np.linspace(0, axis.length_m, len(axis.vertices))
        wet = shapely.contains_xy(self._outline, axis.vertices)
        share = np.maximum.accumulate(self._read(self._along, axis.vertices[wet]))
        keep = np.concatenate([[True], np.diff(share) > 0])
        share, chainage_m = share[keep], knots[wet][keep]
        # the mesh goes on to the outline's end where the line stops short of it
        head = chainage_m[0] - share[0] * np.diff(chainage_m[:2]) / np.diff(share[:2])
        tail = chainage_m[-1] + (1 - share[-1]) * np.diff(chainage_m[-2:]) / np.diff(
            share[-2:]
        )
        return (
            np.concatenate([[0.0], share, [1.0]]),
            np.concatenate([head, chainage_m, tail]),
        )

    def _half_width_m(self, chainage_m: Array) -> Array:
        """Return half the distance between the banks."""
        half: Array = np.interp(chainage_m, *self._half)
        return half

    def _inside(self, places: Array) -> tuple[Array, Array]:
        """Return chainage and offset of places in the water or on its edge."""
        chainage_m = np.interp(self._read(self._along, places), *self._scale)
        share = np.clip(self._read(self._across, places), -1.0, 1.0)
        return chainage_m, share * self._half_width_m(chainage_m)

    def project(self, easting: Array, northing: Array) -> tuple[Array, Array]:
        """Return chainage and offset of points, both of shape (n,)."""
        places = np.column_stack([np.ravel(easting), np.ravel(northing)]).astype(float)
        out = ~shapely.contains_xy(self._outline, places)
        if not out.any():
            return self._inside(places)
        lines = shapely.shortest_line(self._ring, shapely.points(places[out]))
        away_m = shapely.length(lines)
        places[out] = shapely.get_coordinates(lines)[::2]
        kind = self._kind[self._edge_tree.query(places[out])[1]]
        chainage_m, offset_m = self._inside(places)
        bank = np.select([kind == RIGHT, kind == LEFT], [-1.0, 1.0], 0.0)
        half_m = self._half_width_m(chainage_m[out])
        offset_m[out] = np.where(bank == 0, offset_m[out], bank * (half_m + away_m))
        end = np.select([kind == UPSTREAM, kind == DOWNSTREAM], [-1.0, 1.0], 0.0)
        chainage_m[out] += end * away_m
        return chainage_m, offset_m

    def world(self, chainage_m: Array, offset_m: Array) -> Array:
        """Return world places, shape (n, 2), of channel points, both (n,)."""
        low, high = self._scale[1][0], self._scale[1][-1]
        within_m = np.clip(chainage_m, low, high)
        half_m = self._half_width_m(within_m)
        inner_m = np.clip(offset_m, -half_m, half_m)
        places = self._found(np.column_stack([within_m, inner_m]))
        rows = self._slopes(places)
        across = rows[:, 1] / np.maximum(np.hypot(*rows[:, 1].T), 1e-9)[:, None]
        down = rows[:, 0] / np.maximum(np.hypot(*rows[:, 0].T), 1e-9)[:, None]
        places += (offset_m - inner_m)[:, None] * across
        place: Array = places + (chainage_m - within_m)[:, None] * down
        return place

    def _found(self, wanted: Array) -> Array:
        """Return places whose chainage and offset are wanted, by Newton's method."""
        places = self._inside_at[self._inside_tree.query(wanted)[1]].copy()
        most_m = self._mesh.cell_m
        for _ in range(NEWTON_STEPS):
            miss = wanted - np.column_stack(self._inside(places))
            slopes = self._slopes(places)
            slopes += 1e-6 * np.eye(2)  # a flat spot of the mesh must not divide by 0
            step = np.linalg.solve(slopes, miss[:, :, None])[:, :, 0]
            size = np.maximum(np.hypot(*step.T), 1e-12)
            places += step * np.minimum(1.0, most_m / size)[:, None]
        return places

    def _slopes(self, places: Array) -> Array:
        """Return d(chainage, offset) / d(easting, northing), shape (n, 2, 2)."""
        nudge_m = 0.5 * self._mesh.cell_m
        columns = []
        for shift in np.eye(2) * nudge_m:
            ahead = np.column_stack(self._inside(places + shift))
            behind = np.column_stack(self._inside(places - shift))
            columns.append((ahead - behind) / (2 * nudge_m))
        return np.stack(columns, axis=2)


def _labelled_edge(axis: Axis, outline: Polygon) -> tuple[Array, NDArray[np.int64]]:
    """Return close points of the outline and what each belongs to."""
    width_m = outline.area / axis.length_m
    ring = outline.exterior
    count = max(16, int(ring.length / (width_m / 40)))
    along = np.arange(count) * ring.length / count
    edge = shapely.get_coordinates(shapely.line_interpolate_point(ring, along))
    chainage_m, offset_m = axis.project(edge[:, 0], edge[:, 1])
    first_half = chainage_m < axis.length_m / 2
    gap_m = np.abs(offset_m)
    upper = int(np.argmin(np.where(first_half, gap_m, np.inf)))
    lower = int(np.argmin(np.where(first_half, np.inf, gap_m)))
    lean_m = END_SHARE * width_m
    ends = {
        UPSTREAM: _run(chainage_m < chainage_m[upper] + lean_m, upper),
        DOWNSTREAM: _run(chainage_m > chainage_m[lower] - lean_m, lower),
    }
    corner_m = {name: CORNER_SHARE * gap_m[run].max() for name, run in ends.items()}
    turn = (np.arange(count) - upper) % count
    first_bank = turn < (lower - upper) % count
    positive = offset_m > 0
    left_first = positive[first_bank].mean() > positive[~first_bank].mean()
    kind = np.where(first_bank == left_first, LEFT, RIGHT)
    for name, run in ends.items():
        kind[run[gap_m[run] < corner_m[name]]] = name
    return edge, kind


def _run(true: NDArray[np.bool_], at: int) -> NDArray[np.int64]:
    """Return the indices of the unbroken run of true values round ``at``, on a ring."""
    count = len(true)
    turned = np.roll(true, -at)
    ahead = int(np.argmin(turned)) if not turned.all() else count
    behind = int(np.argmin(turned[::-1])) if not turned.all() else 0
    run: NDArray[np.int64] = (at + np.arange(-behind, ahead)) % count
    return run
