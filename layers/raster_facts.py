"""What a GeoTIFF says of itself, and whether it holds what was written into it."""

from __future__ import annotations

import sys
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import rasterio
from rasterio._err import CPLE_BaseError
from rasterio.enums import Resampling
from rasterio.errors import NotGeoreferencedWarning, RasterioError, RasterioIOError
from rasterio.vrt import WarpedVRT

from layers.errors import RasterRefused

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray
    from shapely import Polygon

_FAILURES = (
    CPLE_BaseError,  # what GDAL says and rasterio has no name of its own for
    RasterioError,
    RasterioIOError,
    ValueError,
    OverflowError,
    MemoryError,
)

MOST_LOOKED = 256
"""Rows and columns of the small picture by which a raster is judged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RasterFacts:
    """What the head of a GeoTIFF declares.

    ``block_bytes`` is what the decoder must hold to give one value, ``bytes`` the
    whole unpacked; ``placed`` says whether the file tells where its cells lie.
    """

    rows: int
    columns: int
    names: tuple[str, ...]
    has_crs: bool
    placed: bool
    kind: str
    block_bytes: int
    bytes: int


def facts_of(path: Path) -> RasterFacts:
    """Read the head of a GeoTIFF.

    Raises
    ------
    RasterRefused
        If it cannot be read.
    """
    with _opened(path) as tif:
        size = max(np.dtype(one).itemsize for one in tif.dtypes)
        high, wide = tif.block_shapes[0]
        return RasterFacts(
            rows=tif.height,
            columns=tif.width,
            names=tuple(name or "" for name in tif.descriptions),
            has_crs=tif.crs is not None,
            placed=not tif.transform.is_identity,
            kind=str(tif.dtypes[0]),
            block_bytes=high * wide * size * tif.count,
            bytes=tif.height * tif.width * size * tif.count,
        )


def small_picture(path: Path, water: Polygon, crs: str) -> NDArray[np.float32]:
    """Return a raster's values in the box of the water, coarsely, float32.

    Shape (band, row, column), at most ``MOST_LOOKED`` a side and without overviews,
    so that no value is an average; unknown is ``NaN``.

    Raises
    ------
    RasterRefused
        If the values cannot be read.
    """
    west, south, east, north = water.bounds
    cell = max(east - west, north - south, 1e-6) / MOST_LOOKED
    wide = max(int(np.ceil((east - west) / cell)), 1)
    high = max(int(np.ceil((north - south) / cell)), 1)
    step = rasterio.transform.from_origin(west, north, cell, cell)
    with (
        _opened(path) as source,
        WarpedVRT(
            source,
            crs=crs,
            transform=step,
            width=wide,
            height=high,
            resampling=Resampling.nearest,
            dtype="float32",
            nodata=float("nan"),
        ) as warped,
    ):
        values: NDArray[np.float32] = warped.read()
    return values


def holds(path: Path, wanted: Sequence[NDArray[np.generic]]) -> bool:
    """Say whether a GeoTIFF's bands can be read and are as ``wanted``."""
    try:
        with _opened(path) as tif:
            return all(
                np.array_equal(
                    tif.read(number), np.asarray(values, kind), equal_nan=True
                )
                for number, (values, kind) in enumerate(
                    zip(wanted, tif.dtypes, strict=True), start=1
                )
            )
    except RasterRefused:
        return False


@contextmanager
def _opened(path: Path) -> Iterator[rasterio.DatasetReader]:
    """Open a GeoTIFF and nothing that lies beside it; whatever fails is one error."""
    try:
        with (
            _no_word_of_broken_messages(),
            warnings.catch_warnings(),
            rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR"),
        ):
            # told as a problem, not as a warning
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            with rasterio.open(path, driver="GTiff") as tif:
                yield tif
    except _FAILURES as error:
        said = str(error).replace(str(path), path.name)
        message = f"{path.name} cannot be read as a raster ({said})"
        raise RasterRefused(message) from error


@contextmanager
def _no_word_of_broken_messages() -> Iterator[None]:
    """Keep off the screen what rasterio cannot pass on: messages that are no text.

    GDAL cites damaged tags in its messages, byte by byte; what fails at that is shown
    in both of these ways.
    """
    before = sys.unraisablehook, sys.excepthook
    sys.unraisablehook, sys.excepthook = _say_nothing, _say_nothing
    try:
        yield
    finally:
        sys.unraisablehook, sys.excepthook = before


def _say_nothing(*_: object) -> None:
    """Stand in for what would show a traceback."""
