"""A stack of layers on disk, walked window by window without reading it whole."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING, Self

import numpy as np

from layers.blocks import Window
from layers.errors import LevelMissing
from layers.raster import TiledRaster
from layers.stack import BY_LEVEL, SAME_LEVEL_M, Stack
from layers.tiles import TileWalk

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from layers.grid import Grid


class StoredStack:
    """The layers of one level in a folder of ``layers.store``; a context manager.

    Parameters
    ----------
    folder : Path
        As ``write_stack`` filled it; ``bed.tif`` and ``depth.tif`` must be there.
    level_m : float
        The reading of the board, one that was built.

    Raises
    ------
    RasterRefused
        If a file cannot be read.
    LevelMissing
        If the level was not built.
    GridMismatch
        If the files do not share one grid.
    """

    def __init__(self, folder: Path, *, level_m: float) -> None:
        self.level_m = level_m
        self._files = ExitStack()
        self._rasters: dict[str, TiledRaster] = {}
        try:
            self._open(folder)
        except BaseException:
            self._files.close()
            raise

    @property
    def grid(self) -> Grid:
        """The grid of all layers."""
        return self._rasters["bed"].grid

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *trouble: object) -> None:
        self._files.close()

    def walk(self, windows: Sequence[Window]) -> Iterator[Stack]:
        """Give the part of the stack in each window; see ``layers.tiles`` for memory.

        ``bed``, the shares of the bottom, ``depth`` and ``speed`` where it was built;
        no standard errors.
        """
        walks = {
            name: TileWalk(raster, windows) for name, raster in self._rasters.items()
        }
        for window, *found in zip(windows, *walks.values(), strict=True):
            yield self._stack(window, dict(zip(walks, found, strict=True)))

    def knows(self, quantity: str) -> bool:
        """Say whether any cell of ``speed`` or ``substrate`` is known."""
        raster = self._rasters.get(quantity)
        if raster is None:
            return False
        return any(
            bool(np.isfinite(tile).any()) for tile in TileWalk(raster, tiles_of(raster))
        )

    def _open(self, folder: Path) -> None:
        for name in ("bed", "substrate", "depth", "speed"):
            path = folder / f"{name}.tif"
            if name in ("bed", "depth") or path.exists():
                wanted = ["bed"] if name == "bed" else None
                if name in ("depth", "speed"):
                    wanted = [_band_of(path, self.level_m)]
                raster = self._files.enter_context(TiledRaster(path, wanted))
                self._rasters[name] = raster
                self.grid.require_same(raster.grid, what=path.name)

    def _stack(self, window: Window, found: dict[str, NDArray[np.float32]]) -> Stack:
        fixed = {"bed": found["bed"][0]}
        if "substrate" in found:
            names = self._rasters["substrate"].names
            fixed |= dict(zip(names, found["substrate"], strict=True))
        moving: dict[str, NDArray[np.float32]] = {}
        for name in BY_LEVEL:
            if name in found:
                moving[name] = found[name][0]
        by_level = {self.level_m: moving}
        return Stack(grid=window.of(self.grid), fixed=fixed, by_level=by_level)


def tiles_of(raster: TiledRaster) -> list[Window]:
    """Return the windows of a raster's own tiles, row by row."""
    (high, wide), grid = raster.tile_shape, raster.grid
    return [
        Window(top, left, min(high, grid.rows - top), min(wide, grid.columns - left))
        for top in range(0, grid.rows, high)
        for left in range(0, grid.columns, wide)
    ]


def _band_of(path: Path, level_m: float) -> str:
    """Return the description of the band of a level."""
    with TiledRaster(path) as raster:
        for name in raster.names:
            if abs(float(name) - level_m) < SAME_LEVEL_M:
                return name
        built = ", ".join(raster.names)
    message = f"level {level_m} m was not built (built: {built}); build it with --level"
    raise LevelMissing(message)
