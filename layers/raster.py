"""GeoTIFFs in and out: the only home of rasterio and of nodata numbers."""

from __future__ import annotations

import errno
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np
import rasterio
from affine import Affine
from pyogrio.errors import DataLayerError, DataSourceError, FeatureError
from pyproj import CRS
from rasterio.enums import Resampling
from rasterio.errors import RasterioError, RasterioIOError
from rasterio.features import shapes
from rasterio.vrt import WarpedVRT
from rasterio.windows import Window as RasterWindow
from shapely import Polygon
from shapely.geometry import shape

from layers.errors import RasterRefused
from layers.grid import Grid
from layers.raster_facts import holds
from layers.staging import beside, settle

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from layers.blocks import Window

WRITE_ERRORS = (DataLayerError, DataSourceError, FeatureError)
"""What the library of vector files raises when a disk is full."""

DECODER_BYTES = 32 * 2**20
"""Memory that the decoder may keep for itself while tiles are read one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One band to write: what it is called, its unit and its values."""

    name: str
    unit: str
    values: NDArray[np.float32]


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a temporary path beside ``path`` that takes its place when all is well.

    If the block raises, the old file stays as it was and the temporary one goes; a
    library's own error of writing, as on a full disk, becomes an ``OSError``.
    """
    temporary = beside(path)
    try:
        yield temporary
        temporary.chmod(0o644)
        settle(temporary)
        temporary.replace(path)
    except (RasterioError, RasterioIOError, *WRITE_ERRORS) as error:
        what = f"the file cannot be written ({error})"
        raise OSError(errno.EIO, what, str(path)) from error
    finally:
        temporary.unlink(missing_ok=True)


def write_bands(
    path: Path,
    grid: Grid,
    bands: Sequence[Band],
    *,
    tags: Mapping[str, str] | None = None,
) -> None:
    """Write bands as one float32 Cloud-Optimised GeoTIFF with ``NaN`` as nodata.

    An existing file is replaced only when the new one is complete; ``tags`` go with
    the whole file.
    """
    profile = _profile(grid, "float32", len(bands)) | {
        "nodata": float("nan"),
        "predictor": 3,
    }
    with replacing(path) as temporary:
        with rasterio.open(temporary, "w", **profile) as tif:
            tif.update_tags(**(tags or {}))
            for number, band in enumerate(bands, start=1):
                tif.write(np.asarray(band.values, np.float32), number)
                tif.set_band_description(number, band.name)
                tif.set_band_unit(number, band.unit)
                tif.update_tags(number, unit=band.unit)
        _read_back(temporary, path, [band.values for band in bands])


def write_classes(
    path: Path,
    grid: Grid,
    codes: NDArray[np.uint8],
    *,
    name: str,
    colours: Mapping[int, tuple[int, int, int]],
    tags: Mapping[str, str] | None = None,
) -> None:
    """Write classes as one byte Cloud-Optimised GeoTIFF with a colour table.

    Parameters
    ----------
    path : Path
        Replaced only when the new file is complete.
    grid : Grid
    codes : array of uint8 (row, column)
        The class of each cell; 0 is unknown and transparent.
    name : str
        The band's description.
    colours : mapping of int to (red, green, blue), 0 to 255
    tags : mapping of str to str, optional
        What goes with the file, such as the words of each class.
    """
    profile = _profile(grid, "uint8", 1) | {"nodata": 0, "overview_resampling": "mode"}
    with replacing(path) as temporary:
        with rasterio.open(temporary, "w", **profile) as tif:
            tif.update_tags(**(tags or {}))
            tif.write(codes, 1)
            tif.set_band_description(1, name)
            table = {code: (*colour, 255) for code, colour in colours.items()}
            tif.write_colormap(1, {0: (0, 0, 0, 0), **table})
        _read_back(temporary, path, [codes])


def _read_back(
    temporary: Path, path: Path, wanted: Sequence[NDArray[np.generic]]
) -> None:
    """See that the file holds what was written: a full disk is not always told of."""
    if not holds(temporary, wanted):
        what = "the file came out incomplete, as on a full disk"
        raise OSError(errno.EIO, what, str(path))


def _profile(grid: Grid, dtype: str, count: int) -> dict[str, object]:
    """Return what every Cloud-Optimised GeoTIFF of ours has in common."""
    return {
        "driver": "COG",
        "dtype": dtype,
        "count": count,
        "height": grid.rows,
        "width": grid.columns,
        "crs": grid.crs.to_wkt(),
        "transform": transform_of(grid),
        "compress": "deflate",
        "blocksize": 256,
        "overviews": "none" if max(grid.shape) <= 512 else "auto",  # noqa: PLR2004
    }


def read_bands(path: Path) -> tuple[Grid, dict[str, NDArray[np.float32]]]:
    """Read a north-up GeoTIFF with square cells; bands by description."""
    with _opened(path) as tif:
        grid = _grid_of(tif, path)
        names = [name or f"band {i}" for i, name in enumerate(tif.descriptions, 1)]
        values = tif.read(masked=True).astype(np.float32).filled(np.nan)
    return grid, dict(zip(names, values, strict=True))


def read_aligned(path: Path, grid: Grid) -> dict[str, NDArray[np.float32]]:
    """Read any georeferenced raster onto ``grid`` (bilinear), bands by description.

    Cells that the raster does not reach are ``NaN``.

    Raises
    ------
    RasterRefused
        If the file cannot be read or does not say where it lies.
    """
    with _opened(path) as source:
        if source.crs is None:
            message = (
                f"{path.name} has no reference system; set it in a GIS and save again"
            )
            raise RasterRefused(message)
        with WarpedVRT(
            source,
            crs=grid.crs.to_wkt(),
            transform=transform_of(grid),
            width=grid.columns,
            height=grid.rows,
            resampling=Resampling.bilinear,
            dtype="float32",
            nodata=float("nan"),
        ) as warped:
            values = warped.read()
        names = [name or f"band {i}" for i, name in enumerate(source.descriptions, 1)]
    return dict(zip(names, values, strict=True))


class TiledRaster:
    """A GeoTIFF whose tiles are read one by one; a context manager.

    Parameters
    ----------
    path : Path
        The file.
    names : sequence of str, optional
        The bands that are wanted, by description, in that order; all if not given.

    Raises
    ------
    RasterRefused
        If the file cannot be read, is not north up with square cells, or lacks a band.
    """

    def __init__(self, path: Path, names: Sequence[str] | None = None) -> None:
        self._files = ExitStack()
        # decoded tiles are kept by the caller, who knows which are wanted again
        self._files.enter_context(rasterio.Env(GDAL_CACHEMAX=DECODER_BYTES))
        self._tif = self._files.enter_context(_opened(path))
        self.grid = _grid_of(self._tif, path)
        self.tile_shape: tuple[int, int] = self._tif.block_shapes[0]
        held = [name or f"band {i}" for i, name in enumerate(self._tif.descriptions, 1)]
        self.names = tuple(held if names is None else names)
        missing = [name for name in self.names if name not in held]
        if missing:
            self._files.close()
            message = (
                f"{path.name} has no band {missing[0]!r} but {', '.join(held)}; "
                "build the layers again"
            )
            raise RasterRefused(message)
        self._numbers = [held.index(name) + 1 for name in self.names]

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *trouble: object) -> None:
        self._files.close()

    def tile(self, window: Window) -> NDArray[np.float32]:
        """Return a window's values, float32 (band, row, column); unknown is ``NaN``."""
        box = RasterWindow(window.left, window.top, window.columns, window.rows)
        values: NDArray[np.float32] = self._tif.read(
            self._numbers, window=box, out_dtype=np.float32
        )
        nodata = self._tif.nodata
        if nodata is not None and not np.isnan(nodata):
            values[values == np.float32(nodata)] = np.nan
        return values


def transform_of(grid: Grid) -> Affine:
    """Return the grid's affine transform, (column, row) to (easting, northing)."""
    return Affine(grid.cell_m, 0.0, grid.west, 0.0, -grid.cell_m, grid.north)


@contextmanager
def _opened(path: Path) -> Iterator[rasterio.DatasetReader]:
    try:
        with rasterio.open(path, driver="GTiff") as tif:
            yield tif
    except (RasterioError, RasterioIOError) as error:
        message = (
            f"{path.name} cannot be read as a raster ({error}); "
            "save it again as GeoTIFF"
        )
        raise RasterRefused(message) from error


def _grid_of(tif: rasterio.DatasetReader, path: Path) -> Grid:
    step = tif.transform
    if step.b or step.d or step.a <= 0 or abs(step.a + step.e) > 1e-9 * step.a:
        message = (
            f"{path.name} is not north up with square cells; put it in the survey's "
            "rasters/ folder to have it aligned"
        )
        raise RasterRefused(message)
    return Grid(
        west=step.c,
        north=step.f,
        cell_m=step.a,
        rows=tif.height,
        columns=tif.width,
        crs=CRS.from_user_input(tif.crs.to_wkt()),
    )


def outlines(mask: NDArray[np.bool_], grid: Grid) -> list[Polygon]:
    """Return the areas of a mask as polygons along the cells' sides, largest first."""
    found = shapes(mask.astype(np.uint8), mask=mask, transform=transform_of(grid))
    drawn = [shape(outline) for outline, _ in found]
    areas = [area for area in drawn if isinstance(area, Polygon)]
    return sorted(areas, key=lambda area: -area.area)
