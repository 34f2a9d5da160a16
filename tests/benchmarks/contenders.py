"""The same statistics by public libraries and by a plain loop, on the same arrays."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import shapely
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from rasterstats import zonal_stats
from synthetic import CLASSES

from layers.raster import transform_of


def theirs_exact(grid, bands, swims):
    """Covered shares, as exactextract always does it."""
    box = grid.bounds
    frame = gpd.GeoDataFrame(geometry=swims.reset_index(drop=True))
    wkt = grid.crs.to_wkt()
    edges = (box.west, box.south, box.east, box.north)
    depth, speed, kind = (
        NumPyRasterSource(band, *edges, srs_wkt=wkt, nodata=none)
        for band, none in zip(bands, (np.nan, np.nan, -1), strict=True)
    )
    asked = ["mean", "stdev", "median"]
    numbers = [exact_extract(s, frame, asked, output="pandas") for s in (depth, speed)]
    classes = exact_extract(kind, frame, ["unique", "frac"], output="pandas")
    shares = np.zeros((len(frame), CLASSES))
    for row, (found, share) in enumerate(
        zip(classes["unique"], classes["frac"], strict=True)
    ):
        shares[row, np.asarray(found, int)] = share
    return np.column_stack([table[asked] for table in numbers] + [shares])


def theirs_stats(grid, bands, swims):
    """Cell centres, as rasterstats does it."""
    affine, shapes = transform_of(grid), list(swims)
    asked = ["mean", "std", "median"]
    rows = []
    for band in bands[:2]:
        found = zonal_stats(shapes, band, affine=affine, stats=asked, nodata=np.nan)
        rows.append([[each[name] for name in asked] for each in found])
    found = zonal_stats(shapes, bands[2], affine=affine, categorical=True, nodata=-1)
    counts = np.array([[each.get(k, 0) for k in range(CLASSES)] for each in found])
    return np.column_stack([*rows, counts / counts.sum(axis=1, keepdims=True)])


def loop(grid, bands, swims):
    """Cell centres, one swim after the other with shapely and numpy."""
    easting, northing = grid.centres()
    table = []
    for shape in swims:
        west, south, east, north = shape.bounds
        top, left = (int(at) for at in grid.cell_at(west, north))
        bottom, right = (int(at) for at in grid.cell_at(east, south))
        rows, columns = slice(top, bottom + 1), slice(left, right + 1)
        shapely.prepare(shape)
        inside = shapely.contains_xy(shape, easting[columns], northing[rows][:, None])
        row = []
        for band in bands[:2]:
            values = band[rows, columns][inside].astype(float)
            values = values[~np.isnan(values)]
            row += [values.mean(), values.std(), np.median(values)]
        kinds = bands[2][rows, columns][inside]
        counts = np.bincount(kinds[kinds >= 0], minlength=CLASSES)
        table.append([*row, *(counts / counts.sum())])
    return np.array(table)
