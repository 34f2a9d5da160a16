"""The layers of one river on one grid, by level: read-only, in memory."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from layers.blocks import BLOCK_M, cut_blocks
from layers.errors import GridMismatch, LayerError, LevelMissing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import numpy as np
    from numpy.typing import NDArray
    from shapely import LineString

    from layers.blocks import Block, Window
    from layers.grid import Grid

UNITS: Mapping[str, str] = {
    "bed": "m above datum",
    "bed_sd": "m",
    "depth": "m",
    "speed": "m/s",
    "speed_sd": "m/s",
    "sheltered": "1",
}
"""Unit of each quantity; every other band is a share (unit ``1``)."""

SAME_LEVEL_M = 5e-4
"""Levels closer than this are one level: file names carry millimetres."""

BY_LEVEL = ("depth", "speed", "speed_sd", "sheltered")
"""The quantities that change with the river's level."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Named layers on one grid.

    Parameters
    ----------
    grid : Grid
        The grid that every array lies on.
    fixed : mapping of str to float32 array (row, column)
        Layers that do not change with the level: ``bed``, ``bed_sd`` and one
        share a substrate class. ``NaN`` is unknown, or not water.
    by_level : mapping of float to mapping of str to float32 array (row, column)
        For each level in metres on the board: ``depth``, ``speed``,
        ``speed_sd`` and ``sheltered`` (1 in the lee of something or in a dead
        end, where the speed is a guess; else 0). A cell that is dry at that level
        is ``NaN``.
    notes : tuple of str
        What the builder wants a reader to know, in plain words.

    Examples
    --------
    >>> import numpy as np
    >>> from pyproj import CRS
    >>> from layers.grid import Bounds, Grid
    >>> grid = Grid.covering(Bounds(west=0, east=2, south=0, north=1),
    ...                      cell_m=1, crs=CRS("EPSG:27700"))
    >>> stack = Stack(grid=grid, fixed={"bed": np.zeros((1, 2), np.float32)},
    ...               by_level={0.6: {"depth": np.ones((1, 2), np.float32)}})
    >>> float(stack.layer("depth", level_m=0.6)[0, 1])
    1.0
    """

    grid: Grid
    fixed: Mapping[str, NDArray[np.float32]]
    by_level: Mapping[float, Mapping[str, NDArray[np.float32]]]
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        for layers in (self.fixed, *self.by_level.values()):
            for name, values in layers.items():
                if values.shape != self.grid.shape:
                    message = (
                        f"layer {name!r} has shape {values.shape} but the grid is "
                        f"{self.grid.shape}; align it to the grid first"
                    )
                    raise GridMismatch(message)
                values.setflags(write=False)

    @property
    def levels_m(self) -> tuple[float, ...]:
        """The levels that were built, lowest first."""
        return tuple(sorted(self.by_level))

    @property
    def substrates(self) -> tuple[str, ...]:
        """The substrate classes the stack holds, in its own order."""
        return tuple(name for name in self.fixed if name not in UNITS)

    def holds(self, name: str) -> bool:
        """Say whether the stack has a layer, at every built level if it changes."""
        if name in BY_LEVEL:
            return all(name in layers for layers in self.by_level.values())
        return name in self.fixed

    def has_level(self, level_m: float) -> bool:
        """Say whether a level was built (to the millimetre)."""
        return self._nearest(level_m) is not None

    def layer(self, name: str, *, level_m: float | None = None) -> NDArray[np.float32]:
        """Return one layer, read-only, shape (row, column).

        Parameters
        ----------
        name : str
            ``bed``, ``bed_sd``, a substrate class, ``depth``, ``speed``,
            ``speed_sd`` or ``sheltered``.
        level_m : float, optional
            The board's reading; needed for the quantities of ``BY_LEVEL``.

        Raises
        ------
        LevelMissing
            If the level was not built.
        LayerError
            If the stack has no such layer.
        """
        layers = self._at(level_m) if name in BY_LEVEL else self.fixed
        if name not in layers:
            message = (
                f"there is no layer {name!r}; this stack holds {', '.join(layers)}"
            )
            raise LayerError(message)
        return layers[name]

    def shares(self) -> dict[str, NDArray[np.float32]]:
        """Return the substrate shares by class; empty if the bed was not surveyed."""
        return {name: self.fixed[name] for name in self.substrates}

    def blocks(
        self, line: LineString, *, halo_m: float, length_m: float = BLOCK_M
    ) -> Iterator[tuple[Block, Stack]]:
        """Walk the river in blocks along the stream, upstream first.

        Each block comes with its part of the stack, a view without copies; see
        ``layers.blocks.cut_blocks`` for the arguments, and ``layers.walk`` for the
        same from files, when the whole does not fit in memory.
        """
        for block in cut_blocks(self.grid, line, halo_m=halo_m, length_m=length_m):
            yield block, self.part(block.window)

    def part(self, window: Window) -> Stack:
        """Return the part of the stack in a window of its grid, without copies."""
        top, left, rows, columns = window
        here = slice(top, top + rows), slice(left, left + columns)
        return Stack(
            grid=window.of(self.grid),
            fixed={name: values[here] for name, values in self.fixed.items()},
            by_level={
                level: {name: values[here] for name, values in layers.items()}
                for level, layers in self.by_level.items()
            },
            notes=self.notes,
        )

    def _nearest(self, level_m: float) -> float | None:
        close = [
            level for level in self.by_level if abs(level - level_m) < SAME_LEVEL_M
        ]
        return close[0] if close else None

    def _at(self, level_m: float | None) -> Mapping[str, NDArray[np.float32]]:
        level = None if level_m is None else self._nearest(level_m)
        if level is None:
            built = ", ".join(f"{built:.3f}" for built in self.levels_m) or "none"
            message = (
                f"level {level_m} m was not built (built: {built}); "
                "build it with --level"
            )
            raise LevelMissing(message)
        return self.by_level[level]
