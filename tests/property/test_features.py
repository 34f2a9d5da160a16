"""What holds for the cells and statistics of any swims."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.features import (
    gather_cells,
    swim_features,
    swim_mean,
    swim_quantiles,
)

SIDE_M = 20.0
ROUNDING = {"rtol": 1e-9, "atol": 1e-9}  # sums of a few hundred doubles

cell_sizes = st.sampled_from([0.5, 0.7, 1.0, 3.0])
weightings = st.sampled_from(["coverage", "centre"])
seeds = st.integers(0, 2**32 - 1)


@st.composite
def polygons(draw):
    """Draw a star-shaped polygon, some with a hole, inside the square of 20 m."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(0.3, 7.9), min_size=count, max_size=count))
    turn = draw(st.floats(0, 6))
    middle = np.array([draw(st.floats(8, 12)), draw(st.floats(8, 12))])
    angle = turn + np.linspace(0, 2 * np.pi, count, endpoint=False)
    rim = np.column_stack([np.cos(angle), np.sin(angle)]) * np.array(radii)[:, None]
    star = shapely.Polygon(rim + middle).buffer(0)
    return star - shapely.Point(middle + 1).buffer(draw(st.sampled_from([0.0, 1.3])))


swim_lists = st.lists(polygons(), min_size=1, max_size=5)


def grid_of(cell_m, crs):
    box = Bounds(west=0, east=SIDE_M, south=0, north=SIDE_M)
    return Grid.covering(box, cell_m=cell_m, crs=crs)


def stack_of(grid, seed):
    """Return layers of which one cell in five is dry."""
    rng = np.random.default_rng(seed)
    depth = rng.uniform(0.1, 3, grid.shape).astype(np.float32)
    depth[rng.random(grid.shape) < 0.2] = np.nan
    silt = rng.random(grid.shape).astype(np.float32)
    speed = rng.uniform(0, 1.5, grid.shape).astype(np.float32)
    return Stack(
        grid=grid,
        fixed={"silt": silt, "sand": 1 - silt},
        by_level={0.6: {"depth": depth, "speed": speed}},
    )


@given(shapes=swim_lists, cell_m=cell_sizes)
def test_covered_cells_add_up_to_the_area_of_the_swim(crs, shapes, cell_m):
    grid = grid_of(cell_m, crs)
    swims = gpd.GeoSeries(shapes, crs=crs)
    cells = gather_cells(grid, swims)
    area_m2 = np.bincount(cells.swim, cells.weight, len(swims)) * cell_m**2
    # shares below 1e-9 are dropped, over a few hundred cells
    np.testing.assert_allclose(area_m2, swims.area, rtol=0, atol=1e-6)


@given(shape=polygons(), cell_m=cell_sizes)
def test_each_covered_share_is_the_area_of_the_cut_cell(crs, shape, cell_m):
    grid = grid_of(cell_m, crs)
    cells = gather_cells(grid, gpd.GeoSeries([shape], crs=crs))
    easting, northing = grid.centres()
    row, column = np.divmod(cells.cell, grid.columns)
    east, north, half = easting[column], northing[row], cell_m / 2
    boxes = shapely.box(east - half, north - half, east + half, north + half)
    shares = shapely.area(shapely.intersection(boxes, shape)) / cell_m**2
    np.testing.assert_allclose(cells.weight, shares, **ROUNDING)


@given(shapes=swim_lists, cell_m=cell_sizes, weighting=weightings)
def test_cells_come_once_in_order_with_weights_up_to_one(
    crs, shapes, cell_m, weighting
):
    grid = grid_of(cell_m, crs)
    cells = gather_cells(grid, gpd.GeoSeries(shapes, crs=crs), weighting=weighting)
    assert (np.diff(cells.swim * grid.rows * grid.columns + cells.cell) > 0).all()
    assert ((cells.weight > 0) & (cells.weight <= 1)).all()


@given(shapes=swim_lists, cell_m=cell_sizes, seed=seeds, weighting=weightings)
def test_means_and_quantiles_lie_between_least_and_greatest(
    crs, shapes, cell_m, seed, weighting
):
    stack = stack_of(grid_of(cell_m, crs), seed)
    swims = gpd.GeoSeries(shapes, crs=crs)
    cells = gather_cells(stack.grid, swims, weighting=weighting)
    values = stack.layer("depth", level_m=0.6).ravel()[cells.cell].astype(float)
    ends = swim_quantiles(values, cells, len(swims), [0.0, 1.0])
    rising = swim_quantiles(values, cells, len(swims), [0.0, 0.1, 0.5, 0.9, 1.0])
    mean = swim_mean(values, cells, len(swims))
    known = ~np.isnan(mean)
    assert (np.diff(rising[known]) >= 0).all()
    assert (mean[known] >= ends[known, 0] - 1e-12).all()
    assert (mean[known] <= ends[known, 1] + 1e-12).all()
    for swim in np.flatnonzero(known):
        own = values[cells.swim == swim]
        assert ends[swim].tolist() == [np.nanmin(own), np.nanmax(own)]


@given(shapes=swim_lists, seed=seeds, order=st.randoms(use_true_random=False))
def test_pegs_in_another_order_give_the_same_rows_in_that_order(
    crs, shapes, seed, order
):
    stack = stack_of(grid_of(1.0, crs), seed)
    names = [f"peg {number}" for number in range(len(shapes))]
    swims = gpd.GeoSeries(shapes, index=names, crs=crs)
    order.shuffle(names)
    table = swim_features(stack, swims, level_m=0.6)
    other = swim_features(stack, swims[names], level_m=0.6)
    assert list(other.index) == names
    # the running sums start elsewhere
    np.testing.assert_allclose(other, table.loc[names], **ROUNDING)


@given(shape=polygons(), cell_m=cell_sizes, seed=seeds, at=st.floats(7, 13))
def test_the_parts_of_a_swim_make_up_the_whole(crs, shape, cell_m, seed, at):
    stack = stack_of(grid_of(cell_m, crs), seed)
    west, east = shapely.box(0, 0, at, 20), shapely.box(at, 0, 20, 20)
    parts = gpd.GeoSeries([shape & west, shape & east, shape], crs=crs)
    table = swim_features(stack, parts, level_m=0.6)
    area_m2 = table["wet_area_m2"].to_numpy()
    assert area_m2[:2].sum() == pytest.approx(area_m2[2], abs=1e-6)
    for name in ("depth_m", "speed_m_s", "silt_share"):
        total = (table[name].fillna(0.0) * area_m2).to_numpy()
        assert total[:2].sum() == pytest.approx(total[2], abs=1e-5)


@given(shapes=swim_lists, cell_m=cell_sizes, seed=seeds)
def test_substrate_shares_add_up_to_one_wherever_it_is_wet(crs, shapes, cell_m, seed):
    stack = stack_of(grid_of(cell_m, crs), seed)
    swims = gpd.GeoSeries(shapes, crs=crs)
    table = swim_features(stack, swims, level_m=0.6)
    shares = table[["silt_share", "sand_share"]].sum(axis=1, skipna=False).dropna()
    assert len(shares) == (table["wet_area_m2"] > 0).sum()
    # silt and sand are float32
    np.testing.assert_allclose(shares, 1.0, rtol=1e-6)


@given(shape=polygons(), seed=seeds, factor=st.floats(0.5, 3))
def test_scaling_depths_scales_their_mean_spread_and_quantiles(
    crs, shape, seed, factor
):
    grid = grid_of(1.0, crs)
    stack = stack_of(grid, seed)
    depth = stack.layer("depth", level_m=0.6) * np.float32(factor)
    scaled = Stack(grid=grid, fixed={}, by_level={0.6: {"depth": depth}})
    names = ["depth_m", "depth_sd_m", "depth_p10_m", "depth_p50_m", "depth_p90_m"]
    swims = gpd.GeoSeries([shape], crs=crs)
    before = swim_features(stack, swims, level_m=0.6)[names]
    after = swim_features(scaled, swims, level_m=0.6)[names]
    # float32 products
    np.testing.assert_allclose(after, before * factor, rtol=1e-5, atol=1e-6)
