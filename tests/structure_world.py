"""Straight and bent waters whose creases, shelves and slacks are known beforehand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from pyproj import CRS
from shapely import LineString, Polygon
from shapely.affinity import rotate

from layers.channel import Channel
from layers.grid import Bounds, Grid
from layers.stack import Stack

LEVEL_M = 0.6
LENGTH_M, HALF_WIDTH_M = 240.0, 20.0
Field = Callable[[np.ndarray, np.ndarray], np.ndarray]


def even(value: float) -> Field:
    """The same everywhere."""
    return lambda chainage, _offset: np.full(chainage.shape, value)


class World:
    """A river that flows east (turned left by quarter turns), made of two fields.

    ``speed`` and ``depth`` are functions of chainage and offset (left positive);
    ``swing_m`` bends it; ``fixed`` holds further layers.
    """

    def __init__(
        self,
        *,
        speed: Field = even(0.5),
        depth: Field = even(1.5),
        quarter_turns: int = 0,
        swing_m: float = 0.0,
        cell_m: float = 1.0,
        **fixed: Field,
    ) -> None:
        along = np.arange(0.0, LENGTH_M + 1, 2.0)
        north = swing_m * np.sin(2 * np.pi * along / LENGTH_M)
        line = LineString(np.column_stack([along, north]))
        water = line.buffer(HALF_WIDTH_M, cap_style="flat")
        turn = {"angle": 90 * quarter_turns, "origin": (0, 0)}
        line, water = rotate(line, **turn), rotate(water, **turn)
        self.channel = Channel.fit(line, Polygon(water.exterior))
        self.grid = Grid.covering(
            Bounds.of(water), cell_m=cell_m, crs=CRS("EPSG:27700")
        )
        cells = self.channel.wet_cells(self.grid)

        def laid(field: Field) -> np.ndarray:
            layer = np.full(self.grid.shape, np.nan, np.float32)
            values = field(cells.chainage_m, cells.offset_m)
            layer[cells.rows, cells.columns] = values
            return layer

        deep = laid(depth)
        layers = {"depth": deep, "speed": laid(speed), "speed_sd": 0.05 + 0 * deep}
        layers["speed"] = np.where(np.isnan(deep), np.float32(np.nan), layers["speed"])
        fixed = {"bed": even(0.0), "bed_sd": even(0.1), **fixed}
        self.stack = Stack(
            grid=self.grid,
            fixed={name: laid(field) for name, field in fixed.items()},
            by_level={LEVEL_M: layers},
        )

    def lines(self, kind: str, structure):
        """Return the lines of one kind."""
        return structure.lines[structure.lines["kind"] == kind]

    def areas(self, kind: str, structure):
        """Return the areas of one kind."""
        return structure.areas[structure.areas["kind"] == kind]


def shear(at_m: float, half_width_m: float = 3.0, jump_m_s: float = 0.4) -> Field:
    """A tanh shear layer: gradient ``jump / (2 half_width)`` at offset ``at_m``."""
    return lambda _chainage, offset: (
        0.45 + jump_m_s / 2 * np.tanh((offset - at_m) / half_width_m)
    )
