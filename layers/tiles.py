"""Windows of a tiled raster, each of its tiles decoded once."""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import TYPE_CHECKING, Protocol

import numpy as np

from layers.blocks import Window

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from layers.grid import Grid

    Bands = NDArray[np.float32]
    Place = tuple[int, int]


class Tiled(Protocol):
    """What can give its tiles one by one, see ``layers.raster.TiledRaster``."""

    @property
    def grid(self) -> Grid:
        """The grid of the whole."""

    @property
    def tile_shape(self) -> tuple[int, int]:
        """Rows and columns of a tile."""

    def tile(self, window: Window) -> Bands:
        """Return the values of a window, shape (band, row, column)."""


class TileWalk:
    """Gives windows in order; keeps a tile until the last window that needs it.

    Because all windows are known beforehand, no tile is decoded twice, and a tile is
    let go as soon as no later window touches it. What is held at a time depends on how
    many tiles neighbouring windows share, not on how long the river is; where a river
    comes back beside itself, the tiles between are held until it has.

    Parameters
    ----------
    raster : Tiled
        Where the tiles come from.
    windows : sequence of Window
        What will be asked for, in that order.
    """

    def __init__(self, raster: Tiled, windows: Sequence[Window]) -> None:
        self._raster = raster
        self._windows = windows
        self._wanted = Counter(
            place for window in windows for place in self._places(window)
        )
        self._held: dict[Place, Bands] = {}
        self.decoded = 0
        """How many tiles have been decoded."""
        self.most_held = 0
        """The greatest number of tiles that were in memory at a time."""

    def __iter__(self) -> Iterator[Bands]:
        """Give the bands of each window, shape (band, row, column)."""
        for window in self._windows:
            values: Bands | None = None
            for place in self._places(window):
                tile = self._take(place)
                if values is None:
                    shape = (len(tile), window.rows, window.columns)
                    values = np.empty(shape, np.float32)
                self._lay(tile, place, window, values)
            if values is not None:
                yield values

    def _places(self, window: Window) -> Iterator[Place]:
        high, wide = self._raster.tile_shape
        rows = range(window.top // high, (window.top + window.rows - 1) // high + 1)
        columns = range(
            window.left // wide, (window.left + window.columns - 1) // wide + 1
        )
        return product(rows, columns)

    def _take(self, place: Place) -> Bands:
        """Return a tile, decoded or held, and let go of it after its last use."""
        if place not in self._held:
            self._held[place] = self._raster.tile(self._window_of(place))
            self.decoded += 1
            self.most_held = max(self.most_held, len(self._held))
        self._wanted[place] -= 1
        tile = self._held[place]
        if not self._wanted[place]:
            del self._held[place], self._wanted[place]
        return tile

    def _window_of(self, place: Place) -> Window:
        (high, wide), grid = self._raster.tile_shape, self._raster.grid
        top, left = place[0] * high, place[1] * wide
        return Window(
            top, left, min(high, grid.rows - top), min(wide, grid.columns - left)
        )

    def _lay(self, tile: Bands, place: Place, window: Window, values: Bands) -> None:
        """Copy the part of a tile that lies in a window."""
        high, wide = self._raster.tile_shape
        down, right = place[0] * high - window.top, place[1] * wide - window.left
        rows = slice(max(down, 0), min(down + tile.shape[1], window.rows))
        columns = slice(max(right, 0), min(right + tile.shape[2], window.columns))
        values[:, rows, columns] = tile[
            :,
            rows.start - down : rows.stop - down,
            columns.start - right : columns.stop - right,
        ]
