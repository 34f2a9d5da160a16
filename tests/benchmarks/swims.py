"""Swim statistics: ours against exactextract on the same river, in one run.

Run by hand: ``python tests/benchmarks/swims.py [SWIMS]``. Each contender is run
in turn, three rounds, and the median is shown; ratios are what to look at.
"""

from __future__ import annotations

import sys
import time
from statistics import median

import geopandas as gpd
import numpy as np
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from pyproj import CRS
from shapely import box
from shapely.affinity import rotate

from layers.grid import Bounds, Grid
from pegscore.features import gather_cells, swim_mean, swim_quantiles

ROUNDS = 3
CRS_USED = CRS("EPSG:27700")


def river(swims: int) -> tuple[Grid, np.ndarray, gpd.GeoSeries]:
    """Return a straight river of 1 m cells and turned swims of about 17 x 7 m."""
    length = swims + 40
    bounds = Bounds(west=0, east=length, south=0, north=40)
    grid = Grid.covering(bounds, cell_m=1.0, crs=CRS_USED)
    depth = np.random.default_rng(1).random(grid.shape, dtype=np.float32)
    shapes = [
        rotate(box(10 + i, 8, 27 + i, 15), (i * 7) % 360, origin="center")
        for i in range(swims)
    ]
    return grid, depth, gpd.GeoSeries(shapes, crs=CRS_USED)


def ours(grid: Grid, depth: np.ndarray, swims: gpd.GeoSeries) -> np.ndarray:
    cells = gather_cells(grid, swims)
    values = depth.ravel()[cells.cell].astype(float)
    swim_quantiles(values, cells, len(swims), shares=[0.1, 0.5, 0.9])
    return swim_mean(values, cells, len(swims))


def theirs(grid: Grid, depth: np.ndarray, swims: gpd.GeoSeries) -> np.ndarray:
    b = grid.bounds
    source = NumPyRasterSource(
        depth, xmin=b.west, ymin=b.south, xmax=b.east, ymax=b.north
    )
    asked = ["mean", "quantile(q=0.1)", "quantile(q=0.5)", "quantile(q=0.9)"]
    frame = gpd.GeoDataFrame(geometry=swims)
    return exact_extract(source, frame, asked, output="pandas")["mean"].to_numpy()


def main() -> None:
    swims = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    world = river(swims)
    seconds: dict[str, list[float]] = {"pegscore": [], "exactextract": []}
    for _ in range(ROUNDS):
        for name, run in (("pegscore", ours), ("exactextract", theirs)):
            start = time.perf_counter()
            found = run(*world)
            seconds[name].append(time.perf_counter() - start)
            if name == "pegscore":
                mine = found
    print(f"largest difference of means: {np.abs(mine - found).max():.2e}")
    for name, times in seconds.items():
        print(f"{name:14} {swims / median(times):12,.0f} swims/s")
    ratio = median(seconds["exactextract"]) / median(seconds["pegscore"])
    print(f"pegscore does {ratio:.1f} swims in the time of one")


if __name__ == "__main__":
    main()
