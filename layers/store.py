"""A stack of layers as files in a folder, one GeoTIFF a quantity.

======================== ==================================================
file                     bands
======================== ==================================================
``bed.tif``              ``bed`` (m above datum), ``bed_sd`` (m)
``substrate.tif``        one share a class
``depth.tif``            one band a level, described as ``0.600``
``speed.tif``            likewise, m/s
``speed_sd.tif``         likewise, m/s
``sheltered.tif``        likewise, 1 where the speed is a guess, else 0
======================== ==================================================
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.raster import Band, read_bands, write_bands
from layers.stack import BY_LEVEL, UNITS, Stack

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from layers.grid import Grid

MAY_LACK = ("sheltered",)
"""What a stack from elsewhere, or of an earlier version, may be without."""


def write_stack(stack: Stack, folder: Path) -> tuple[Path, ...]:
    """Write every layer of ``stack`` into ``folder`` and return the files.

    Each file is replaced only when its successor is complete. A file of an
    earlier run whose layer is no longer there is removed.
    """
    written = []
    for name, bands in _files(stack):
        path = folder / f"{name}.tif"
        if bands:
            write_bands(path, stack.grid, bands)
            written.append(path)
        else:
            path.unlink(missing_ok=True)
    return tuple(written)


def read_stack(folder: Path, *, notes: tuple[str, ...] = ()) -> Stack:
    """Read back what ``write_stack`` wrote.

    Raises
    ------
    RasterRefused
        If a file cannot be read.
    GridMismatch
        If the files do not share one grid.
    """
    grid, bed = read_bands(folder / "bed.tif")
    fixed = dict(bed)
    if (folder / "substrate.tif").exists():
        fixed |= _on(grid, folder / "substrate.tif")
    by_level: dict[float, dict[str, NDArray[np.float32]]] = {}
    for quantity in BY_LEVEL:
        path = folder / f"{quantity}.tif"
        if quantity in MAY_LACK and not path.exists():
            continue
        for level, values in _on(grid, path).items():
            by_level.setdefault(float(level), {})[quantity] = values
    return Stack(grid=grid, fixed=fixed, by_level=by_level, notes=notes)


def _on(grid: Grid, path: Path) -> dict[str, NDArray[np.float32]]:
    other, bands = read_bands(path)
    grid.require_same(other, what=path.name)
    return bands


def _files(stack: Stack) -> Iterator[tuple[str, list[Band]]]:
    yield "bed", [_band(name, stack.fixed[name]) for name in ("bed", "bed_sd")]
    yield "substrate", [_band(name, stack.fixed[name]) for name in stack.substrates]
    for quantity in BY_LEVEL:
        yield quantity, _bands_by_level(stack, quantity)


def _bands_by_level(stack: Stack, quantity: str) -> list[Band]:
    if quantity in MAY_LACK and not stack.holds(quantity):
        return []
    return [
        Band(
            name=f"{level:.3f}",
            unit=UNITS[quantity],
            values=stack.layer(quantity, level_m=level),
        )
        for level in stack.levels_m
    ]


def _band(name: str, values: NDArray[np.float32]) -> Band:
    return Band(name=name, unit=UNITS.get(name, "1"), values=values)
