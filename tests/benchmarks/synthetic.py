"""A winding river of any length, made as it is needed: water, swims, GeoTIFF."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from pyproj import CRS

from layers.blocks import Window, cut_blocks
from layers.grid import Bounds, Grid
from layers.raster import transform_of

if TYPE_CHECKING:
    from pathlib import Path

    from layers.blocks import Block

CRS_USED = CRS("EPSG:27700")
WEST, MIDDLE = 400_000.0, 300_000.0
WAVE_M, SWING_M, HALF_WIDTH_M = 2000.0, 300.0, 30.0
LENGTHWAYS = 1.19445
"""Metres along the river a metre of its axis: the length of the sine, by summing."""

SWIM_HALF_M = (16.0, 6.85)
"""Half a swim's length and width: 438 cells of one metre."""

CLASSES = 5
TILE = 256


def middle(east: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the northing of the river's middle and its slope."""
    turn = 2 * np.pi / WAVE_M
    angle = (east - WEST) * turn
    return MIDDLE + SWING_M * np.sin(angle), SWING_M * turn * np.cos(angle)


def grid_of(river_m: float) -> Grid:
    bounds = Bounds(
        west=WEST - 60,
        east=WEST + river_m / LENGTHWAYS + 60,
        south=MIDDLE - SWING_M - 100,
        north=MIDDLE + SWING_M + 100,
    )
    rows = int(bounds.north - bounds.south)
    columns = int(np.ceil(bounds.east - bounds.west))
    return Grid(
        west=bounds.west, north=bounds.north, cell_m=1.0, rows=rows, columns=columns,
        crs=CRS_USED,
    )  # fmt: skip


def blocks_of(grid: Grid, river_m: float) -> list[Block]:
    east = np.arange(WEST, WEST + river_m / LENGTHWAYS + 5, 5.0)
    line = shapely.LineString(np.column_stack([east, middle(east)[0]]))
    return cut_blocks(grid, line, halo_m=35.0)


def swims_of(first: int, last: int) -> gpd.GeoSeries:
    """Return swims ``first`` to ``last``, a metre apart: bent strips of 34 points."""
    along = np.linspace(-1, 1, 17) * SWIM_HALF_M[0]
    east = WEST + np.arange(first, last)[:, None] / LENGTHWAYS + along / LENGTHWAYS
    north, slope = middle(east)
    norm = np.hypot(1, slope)
    aside = (np.arange(first, last) % 2 * 2 - 1)[:, None] * 12.0
    near, far = aside - SWIM_HALF_M[1], aside + SWIM_HALF_M[1]
    sides = [
        np.stack([east - off * slope / norm, north + off / norm], axis=-1)
        for off in (near, far)
    ]
    ring = np.concatenate([sides[0], sides[1][:, ::-1], sides[0][:, :1]], axis=1)
    return gpd.GeoSeries(shapely.polygons(ring), crs=CRS_USED)


def water(part: Grid) -> np.ndarray:
    """Return depth, speed and class, float32 (3, row, column); ``NaN`` on land."""
    easting, northing = part.centres()
    north, slope = middle(easting)
    off = (northing[:, None] - north) / np.hypot(1, slope)
    share = np.clip(1 - (off / HALF_WIDTH_M) ** 2, 0, None)
    depth = share * (1.5 + 0.7 * np.sin(easting / 37) + 0.2 * np.sin(off * 1.7))
    speed = 0.6 * share * (1.2 + np.cos(easting / 37 + off / 9))
    kind = np.floor(CLASSES * (0.5 + 0.499 * np.sin(easting / 90 + off / 4)))
    return np.where(np.abs(off) < HALF_WIDTH_M, [depth, speed, kind], np.nan).astype(
        np.float32
    )


def write_river(path: Path, river_m: float) -> Grid:
    """Write three bands as a tiled, deflated GeoTIFF; tiles of land are left out."""
    grid = grid_of(river_m)
    touched = sorted(
        {
            (row, column)
            for block in blocks_of(grid, river_m)
            for row in range(
                block.window.top // TILE,
                (block.window.top + block.window.rows - 1) // TILE + 1,
            )
            for column in range(
                block.window.left // TILE,
                (block.window.left + block.window.columns - 1) // TILE + 1,
            )
        }
    )
    with rasterio.open(
        path, "w", driver="GTiff", dtype="float32", count=3, height=grid.rows,
        width=grid.columns, crs=CRS_USED.to_wkt(), transform=transform_of(grid),
        nodata=float("nan"), tiled=True, blockxsize=TILE, blockysize=TILE,
        compress="deflate", predictor=3, interleave="pixel", sparse_ok=True,
        bigtiff="if_safer",
    ) as tif:  # fmt: skip
        for row, column in touched:
            window = Window(
                row * TILE,
                column * TILE,
                min(TILE, grid.rows - row * TILE),
                min(TILE, grid.columns - column * TILE),
            )
            box = rasterio.windows.Window(
                window.left, window.top, window.columns, window.rows
            )
            tif.write(water(window.of(grid)), window=box)
    return grid
