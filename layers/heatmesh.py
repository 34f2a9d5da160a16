"""A square mesh over the water on which a steady heat problem is solved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy import ndimage
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

    from layers.axis import Axis

    Array = NDArray[np.float64]

CELLS_ACROSS = 24
"""Cells in a mean width: our own choice, half a cell is then 2 % of the width."""

MOST_CELLS = 150_000
"""A long river gets a coarser mesh, so that the solution stays a matter of seconds."""

MARGIN = 3
"""Dry cells kept all round."""

SIDES = ((-1, 0), (1, 0), (0, -1), (0, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatMesh:
    """Cells turned along the river's chord, so that turning a survey turns them.

    Parameters
    ----------
    origin : array of shape (2,)
        World place of the mesh's zero.
    turn : array of shape (2, 2)
        Rows: the world directions of the mesh's columns and rows.
    corner : array of shape (2,)
        Mesh place of the centre of cell (0, 0): along columns, along rows.
    cell_m : float
        Side of a cell.
    wet : bool array (row, column)
        The one connected body of cells whose centre is in the water.
    """

    origin: Array
    turn: Array
    corner: Array
    cell_m: float
    wet: NDArray[np.bool_]

    @classmethod
    def over(cls, outline: Polygon, axis: Axis) -> HeatMesh:
        """Lay a mesh over a polygon."""
        width_m = outline.area / axis.length_m
        cell_m = max(width_m / CELLS_ACROSS, np.sqrt(outline.area / MOST_CELLS))
        origin, chord = axis.vertices[0], axis.vertices[-1] - axis.vertices[0]
        if np.hypot(*chord) < width_m:  # a closed loop has no chord
            chord = axis.tangents(np.zeros(1))[0]
        east, north = chord / np.hypot(*chord)
        turn = np.array([[east, north], [-north, east]])
        ring = (shapely.get_coordinates(outline.exterior) - origin) @ turn.T
        low = np.floor(ring.min(axis=0) / cell_m) - MARGIN
        columns, rows = (np.ceil(ring.max(axis=0) / cell_m) + MARGIN - low).astype(int)
        corner = (low + 0.5) * cell_m
        across = corner[0] + np.arange(columns) * cell_m
        up = corner[1] + np.arange(rows) * cell_m
        water = shapely.Polygon(ring)
        shapely.prepare(water)
        wet = shapely.contains_xy(water, across[None, :], up[:, None])
        bodies, _ = ndimage.label(wet)
        largest = int(np.argmax(np.bincount(bodies.ravel())[1:])) + 1
        return cls(
            origin=origin,
            turn=turn,
            corner=corner,
            cell_m=float(cell_m),
            wet=bodies == largest,
        )

    def index(self, places: Array) -> Array:
        """Return fractional (row, column) of world places, shape (n, 2)."""
        inside = ((places - self.origin) @ self.turn.T - self.corner) / self.cell_m
        return inside[:, ::-1]

    def _world(self, rows: NDArray[Any], columns: NDArray[Any]) -> Array:
        """Return world places of fractional rows and columns."""
        inside = np.column_stack([columns, rows]) * self.cell_m + self.corner
        place: Array = inside @ self.turn + self.origin
        return place

    def centres(self) -> Array:
        """Return the world places of the wet cells, shape (n, 2), row by row."""
        rows, columns = np.nonzero(self.wet)
        return self._world(rows, columns)

    def _sides(self) -> list[tuple[NDArray[np.int64], NDArray[np.int64]]]:
        """Return, for each side, each wet cell's neighbour's row and column."""
        rows, columns = np.nonzero(self.wet)
        return [(rows + down, columns + right) for down, right in SIDES]

    def faces(self) -> Array:
        """Return the world places of the faces between wet and dry cells, (n, 2)."""
        rows, columns = np.nonzero(self.wet)
        faces = []
        for (down, right), (row, column) in zip(SIDES, self._sides(), strict=True):
            dry = ~self.wet[row, column]
            half = np.array([down, right], np.float64) / 2
            faces.append(self._world(rows[dry] + half[0], columns[dry] + half[1]))
        return np.vstack(faces)

    def solve(self, held: Array) -> Array:
        """Return the steady temperature, an array (row, column).

        Parameters
        ----------
        held : array of shape (n,)
            The temperature each of :meth:`faces` is held at; ``NaN`` where no
            heat passes.
        """
        count = int(self.wet.sum())
        number = np.full(self.wet.shape, -1)
        number[self.wet] = np.arange(count)
        weight, source = np.zeros(count), np.zeros(count)
        links: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
        first = 0
        for row, column in self._sides():
            wet = self.wet[row, column]
            links.append((np.flatnonzero(wet), number[row, column][wet]))
            weight[wet] += 1
            value = held[first : first + int((~wet).sum())]
            first += len(value)
            fixed = np.isfinite(value)
            cells = np.flatnonzero(~wet)[fixed]
            weight[cells] += 2  # the face is half a cell away
            source[cells] += 2 * value[fixed]
        ahead = np.concatenate([link[0] for link in links])
        behind = np.concatenate([link[1] for link in links])
        each = np.arange(count)
        system = coo_array(
            (
                np.concatenate([weight, np.full(len(ahead), -1.0)]),
                (np.concatenate([each, ahead]), np.concatenate([each, behind])),
            ),
            shape=(count, count),
        ).tocsc()
        field = np.zeros(self.wet.shape)
        field[self.wet] = spsolve(system, source)
        return self._carried_on(field)

    def _carried_on(self, field: Array) -> Array:
        """Carry a field on, straight, over the dry cells next to the water."""
        known, value = self.wet.copy(), field.copy()
        for _ in range(MARGIN - 1):
            total, count = np.zeros(field.shape), np.zeros(field.shape)
            for down, right in SIDES:
                one = np.roll(value, (-down, -right), (0, 1))
                two = np.roll(value, (-2 * down, -2 * right), (0, 1))
                both = np.roll(known, (-down, -right), (0, 1)) & np.roll(
                    known, (-2 * down, -2 * right), (0, 1)
                )
                total += np.where(both, 2 * one - two, 0.0)
                count += both
            new = ~known & (count > 0)
            value[new] = total[new] / count[new]
            known |= new
        _, nearest = ndimage.distance_transform_edt(~known, return_indices=True)
        filled: Array = value[tuple(nearest)]
        return filled
