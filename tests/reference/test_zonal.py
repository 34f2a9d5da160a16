"""Statistics of swims against exactextract, an independent exact zonal library."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource

from layers.grid import Bounds, Grid
from pegscore.features import (
    gather_cells,
    swim_deviation,
    swim_mean,
    swim_quantiles,
)

RELATIVE = 1e-6
"""Both are exact; exactextract keeps shares of cells in float32 (6e-8)."""


@pytest.fixture
def grid(crs):
    bounds = Bounds(west=440_000, east=440_080, south=200_000, north=200_060)
    return Grid.covering(bounds, cell_m=2.0, crs=crs)


@pytest.fixture
def swims(rng, crs):
    """Return discs with a hole, bent strips, one of two parts and a tiny one."""
    middles = np.column_stack(
        [rng.uniform(440_015, 440_065, 8), rng.uniform(200_015, 200_045, 8)]
    )
    points = shapely.points(middles)
    discs = shapely.difference(
        shapely.buffer(points, 12.0), shapely.buffer(shapely.points(middles + 2), 3.3)
    )
    bent = shapely.linestrings(
        np.stack([middles, middles + 9, np.add(middles, [1, 13])], 1)
    )
    strips = shapely.buffer(bent, 1.7, cap_style="flat")
    two = shapely.box(440_010.3, 200_010.1, 440_012, 200_019.7).union(
        shapely.box(440_030, 200_030, 440_036.6, 200_033.3)
    )
    tiny = shapely.box(440_021.2, 200_021.4, 440_021.7, 200_021.5)
    return gpd.GeoSeries([*discs, *strips, two, tiny], crs=crs)


@pytest.fixture
def raster(grid, rng):
    """Return depths of which one cell in ten is unknown."""
    values = rng.uniform(0.2, 3.0, grid.shape)
    values[rng.random(grid.shape) < 0.1] = np.nan
    return values


def theirs(grid, raster, swims, *operations):
    box = grid.bounds
    source = NumPyRasterSource(
        raster, box.west, box.south, box.east, box.north, srs_wkt=grid.crs.to_wkt()
    )
    frame = gpd.GeoDataFrame(geometry=swims)
    return exact_extract(source, frame, list(operations), output="pandas")


def test_covered_shares_equal_those_of_exactextract_cell_by_cell(grid, swims):
    numbers = np.arange(grid.rows * grid.columns, dtype=float).reshape(grid.shape)
    expected = theirs(grid, numbers, swims, "values", "coverage")
    cells = gather_cells(grid, swims)
    for position, row in expected.iterrows():
        own = cells.swim == position
        order = np.argsort(row["values"])
        np.testing.assert_array_equal(cells.cell[own], row["values"][order])
        # a sliver's float32 share keeps its own digits: compare on a whole cell
        np.testing.assert_allclose(
            cells.weight[own], row["coverage"][order], rtol=0, atol=RELATIVE
        )


def test_known_area_mean_and_spread_equal_those_of_exactextract(grid, raster, swims):
    expected = theirs(grid, raster, swims, "count", "mean", "stdev")
    cells = gather_cells(grid, swims)
    values = raster.ravel()[cells.cell]
    known = cells.only(~np.isnan(values))
    count = np.bincount(known.swim, known.weight, len(swims))
    np.testing.assert_allclose(count, expected["count"], rtol=RELATIVE)
    mean = swim_mean(values, cells, len(swims))
    np.testing.assert_allclose(mean, expected["mean"], rtol=RELATIVE)
    spread = swim_deviation(values, cells, len(swims))
    # the tiny swim lies in one cell: its spread is 0 to rounding
    np.testing.assert_allclose(spread, expected["stdev"], rtol=RELATIVE, atol=1e-9)


def test_quantiles_equal_those_of_exactextract(grid, raster, swims):
    names = ["quantile(q=0.1)", "quantile(q=0.5)", "quantile(q=0.9)"]
    expected = theirs(grid, raster, swims, *names).to_numpy()
    cells = gather_cells(grid, swims)
    ours = swim_quantiles(raster.ravel()[cells.cell], cells, len(swims))
    np.testing.assert_allclose(ours, expected, rtol=RELATIVE)


def test_quantiles_of_whole_cells_equal_those_of_numpy(grid, raster, swims):
    cells = gather_cells(grid, swims, weighting="centre")
    values = raster.ravel()[cells.cell]
    ours = swim_quantiles(values, cells, len(swims))
    expected = [
        np.nanquantile(values[cells.swim == i], [0.1, 0.5, 0.9])
        if (~np.isnan(values[cells.swim == i])).any()
        else [np.nan] * 3
        for i in range(len(swims))
    ]
    # straight lines between the same two values: rounding alone
    np.testing.assert_allclose(ours, expected, rtol=1e-12)


def test_shares_of_classes_equal_those_of_exactextract(grid, rng, swims):
    classes = rng.integers(0, 3, grid.shape)
    expected = theirs(grid, classes.astype(np.int32), swims, "unique", "frac")
    cells = gather_cells(grid, swims)
    for number in range(3):
        is_class = (classes.ravel()[cells.cell] == number).astype(float)
        share = swim_mean(is_class, cells, len(swims))
        theirs_of = [
            dict(zip(row["unique"], row["frac"], strict=True)).get(number, 0.0)
            for _, row in expected.iterrows()
        ]
        np.testing.assert_allclose(share, theirs_of, rtol=RELATIVE, atol=1e-9)
