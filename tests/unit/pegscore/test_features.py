"""Hand arithmetic on a raster of 3 x 3 cells, and what unknown cells do."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import CRS
from shapely import box

from layers.errors import LevelMissing
from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.coverage import SwimCells
from pegscore.errors import PegError
from pegscore.features import (
    gather_cells,
    swim_deviation,
    swim_features,
    swim_mean,
    swim_quantiles,
)

ROUNDING = {"rtol": 1e-12, "atol": 1e-12}  # a few additions in double precision
SINGLE = {"rtol": 1e-6}  # the layers are float32


@pytest.fixture
def grid(crs):
    """Return 3 x 3 cells of one metre; the cells count 1 2 3 / 4 5 6 / 7 8 9."""
    return Grid.covering(Bounds(west=0, east=3, south=0, north=3), cell_m=1, crs=crs)


@pytest.fixture
def depth_m():
    return np.arange(1, 10, dtype=np.float32).reshape(3, 3)


@pytest.fixture
def stack(grid, depth_m):
    def layer(value):
        return np.full(grid.shape, value, np.float32)

    return Stack(
        grid=grid,
        fixed={"bed": layer(0), "bed_sd": layer(0.1), "silt": layer(0.75)}
        | {"sand": layer(0.25)},
        by_level={
            0.6: {"depth": depth_m, "speed": depth_m / 10, "speed_sd": layer(0.05)}
        },
    )


def one(shape, crs):
    return gpd.GeoSeries([shape], index=["7"], crs=crs).rename_axis("peg")


def test_a_half_cell_square_in_the_middle_covers_quarters_halves_and_one_whole(
    grid, crs
):
    cells = gather_cells(grid, one(box(0.5, 0.5, 2.5, 2.5), crs))
    assert cells.cell.tolist() == list(range(9))
    expected = [0.25, 0.5, 0.25, 0.5, 1.0, 0.5, 0.25, 0.5, 0.25]
    np.testing.assert_allclose(cells.weight, expected, **ROUNDING)


def test_by_centre_a_cell_counts_whole_or_not_at_all(grid, crs):
    swim = one(box(0.4, 0.6, 2.4, 2.6), crs)
    cells = gather_cells(grid, swim, weighting="centre")
    assert cells.cell.tolist() == [0, 1, 3, 4]
    assert cells.weight.tolist() == [1.0] * 4


def test_a_triangle_covers_half_of_the_cells_on_its_long_side(grid, crs):
    triangle = shapely.Polygon([(0, 0), (3, 0), (0, 3)])
    cells = gather_cells(grid, one(triangle, crs))
    assert cells.cell.tolist() == [0, 3, 4, 6, 7, 8]
    np.testing.assert_allclose(cells.weight, [0.5, 1, 0.5, 1, 1, 0.5], **ROUNDING)


def test_a_hole_is_not_covered(grid, crs):
    ring = box(0, 0, 3, 3) - box(1, 1, 2, 1.5)
    cells = gather_cells(grid, one(ring, crs))
    np.testing.assert_allclose(cells.weight, [1, 1, 1, 1, 0.5, 1, 1, 1, 1], **ROUNDING)


@pytest.mark.parametrize("turned", [False, True])
def test_the_way_round_that_a_ring_is_drawn_does_not_matter(grid, crs, turned):
    square = shapely.Polygon([(0, 0), (0, 1), (1, 1), (1, 0)][:: -1 if turned else 1])
    cells = gather_cells(grid, one(square, crs))
    assert (cells.cell.tolist(), cells.weight.tolist()) == ([6], [1.0])


def test_what_lies_off_the_grid_is_left_out(grid, crs):
    cells = gather_cells(grid, one(box(-5, 2.5, 1, 7), crs))
    assert (cells.cell.tolist(), cells.weight.tolist()) == ([0], [0.5])


@pytest.mark.parametrize("weighting", ["coverage", "centre"])
def test_an_empty_swim_between_others_gets_no_cells(grid, crs, weighting):
    shapes = [shapely.Polygon(), box(0, 2, 1, 3), shapely.Polygon(), box(2, 0, 3, 1)]
    swims = gpd.GeoSeries([*shapes, shapely.Polygon()], crs=crs)
    cells = gather_cells(grid, swims, weighting=weighting)
    assert (cells.swim.tolist(), cells.cell.tolist()) == ([1, 3], [0, 8])


@pytest.mark.parametrize("weighting", ["coverage", "centre"])
def test_no_swims_give_no_cells(grid, crs, weighting):
    empty = gpd.GeoSeries([], crs=crs)
    assert len(gather_cells(grid, empty, weighting=weighting)) == 0


def test_swims_in_another_crs_are_refused_with_both_names(grid):
    swims = one(box(0, 0, 1, 1), CRS("EPSG:32630"))
    with pytest.raises(PegError, match="EPSG:32630 but the grid is in EPSG:27700"):
        gather_cells(grid, swims)


def test_an_unknown_weighting_is_refused_with_the_choices(grid, crs):
    with pytest.raises(PegError, match="'middle'; choose 'coverage' or 'centre'"):
        gather_cells(grid, one(box(0, 0, 1, 1), crs), weighting="middle")


def test_every_statistic_of_the_half_cell_square_is_as_worked_by_hand(stack, crs):
    row = swim_features(stack, one(box(0.5, 0.5, 2.5, 2.5), crs), level_m=0.6).loc["7"]
    assert row["swim_area_m2"] == row["wet_area_m2"] == pytest.approx(4.0, rel=1e-12)
    assert row["wet_share"] == 1.0
    # (1 + 3 + 7 + 9) / 4 + (2 + 4 + 6 + 8) / 2 + 5 = 20, over an area of 4
    assert row["depth_m"] == pytest.approx(5.0, rel=1e-12)
    # squares off the mean: (16 + 4 + 4 + 16) / 4 + (9 + 1 + 1 + 9) / 2 = 20; 20 / 4
    assert row["depth_sd_m"] == pytest.approx(np.sqrt(5.0), rel=1e-12)
    assert row["depth_p50_m"] == pytest.approx(5.0, rel=1e-12)
    np.testing.assert_allclose(row["speed_m_s"], 0.5, **SINGLE)
    np.testing.assert_allclose(row["speed_sd_m_s"], np.sqrt(0.05), **SINGLE)
    np.testing.assert_allclose(row["bed_sd_m"], 0.1, **SINGLE)
    np.testing.assert_allclose(row["speed_error_m_s"], 0.05, **SINGLE)
    assert (row["silt_share"], row["sand_share"]) == (0.75, 0.25)
    assert (row["speed_known_share"], row["substrate_known_share"]) == (1.0, 1.0)


def test_deep_and_shallow_ends_stand_at_the_places_of_the_formula():
    # weights 1, 1/2, 1 of the values 1, 2, 4: S = 0, 1/2 + 2 = 5/2, 2 + 3 = 5;
    # p10 at 0.5 is a fifth of the way 1-2, p90 at 4.5 four fifths of the way 2-4
    cells = SwimCells(np.zeros(3, int), np.arange(3), np.array([1.0, 0.5, 1.0]))
    found = swim_quantiles(np.array([1.0, 2.0, 4.0]), cells, 1)
    np.testing.assert_allclose(found, [[1.2, 2.0, 3.6]], **ROUNDING)


def test_least_and_greatest_are_the_outer_quantiles_of_each_swim():
    cells = SwimCells(np.array([0, 0, 2, 2, 2]), np.arange(5), np.ones(5))
    values = np.array([4.0, 3.0, 9.0, 7.0, 8.0])
    found = swim_quantiles(values, cells, 3, shares=[0.0, 1.0])
    np.testing.assert_array_equal(found, [[3, 4], [np.nan, np.nan], [7, 9]])


def test_every_quantile_of_a_single_cell_is_its_value():
    cells = SwimCells(np.array([1]), np.array([0]), np.array([0.3]))
    found = swim_quantiles(np.array([2.5]), cells, 2)
    np.testing.assert_array_equal(found, [[np.nan] * 3, [2.5] * 3])


def test_unknown_cells_are_left_out_and_not_counted_as_zero(stack, depth_m, crs, grid):
    depth_m = np.where(depth_m == 9, np.nan, depth_m).astype(np.float32)
    dry = Stack(grid=grid, fixed=stack.fixed, by_level={0.6: {"depth": depth_m}})
    row = swim_features(dry, one(box(1, 0, 3, 1), crs), level_m=0.6).loc["7"]
    assert row[["swim_area_m2", "wet_area_m2", "wet_share"]].tolist() == [2, 1, 0.5]
    assert row[["depth_m", "depth_sd_m", "depth_p90_m"]].tolist() == [8, 0, 8]


def test_a_dry_cell_does_not_lend_its_bed_to_the_swim(depth_m, grid, crs):
    silt = np.where(depth_m == 9, 1.0, 0.0).astype(np.float32)
    depth_m = np.where(depth_m == 9, np.nan, depth_m).astype(np.float32)
    dry = Stack(grid=grid, fixed={"silt": silt}, by_level={0.6: {"depth": depth_m}})
    row = swim_features(dry, one(box(1, 0, 3, 1), crs), level_m=0.6).loc["7"]
    assert row["silt_share"] == 0.0


def test_the_share_with_a_known_speed_is_a_share_of_the_wet_area(
    stack, depth_m, grid, crs
):
    speed = np.where(depth_m == 8, np.nan, 0.5).astype(np.float32)
    layers = {"depth": np.where(depth_m == 9, np.nan, depth_m), "speed": speed}
    some = Stack(grid=grid, fixed=stack.fixed, by_level={0.6: layers})
    row = swim_features(some, one(box(0, 0, 3, 1), crs), level_m=0.6).loc["7"]
    assert (row["speed_known_share"], row["speed_m_s"]) == (0.5, 0.5)


def test_a_stack_without_speeds_gives_unknown_speeds(stack, depth_m, grid, crs):
    still = Stack(grid=grid, fixed=stack.fixed, by_level={0.6: {"depth": depth_m}})
    row = swim_features(still, one(box(0, 0, 3, 3), crs), level_m=0.6).loc["7"]
    assert row[["speed_m_s", "speed_p10_m_s", "speed_error_m_s"]].isna().all()
    assert row["speed_known_share"] == 0.0


def test_a_stack_without_a_bed_survey_has_no_shares(depth_m, grid, crs):
    bare = Stack(grid=grid, fixed={}, by_level={0.6: {"depth": depth_m}})
    row = swim_features(bare, one(box(0, 0, 3, 3), crs), level_m=0.6).loc["7"]
    assert "silt_share" not in row.index
    assert row["substrate_known_share"] == 0.0
    assert np.isnan(row["bed_sd_m"])


def test_an_empty_swim_has_no_area_and_nothing_known(stack, crs):
    row = swim_features(stack, one(shapely.Polygon(), crs), level_m=0.6).loc["7"]
    assert (row["swim_area_m2"], row["wet_area_m2"]) == (0.0, 0.0)
    assert row.drop(["swim_area_m2", "wet_area_m2"]).isna().all()


def test_a_level_that_was_not_built_is_refused(stack, crs):
    with pytest.raises(LevelMissing, match=r"level 0\.9 m was not built"):
        swim_features(stack, one(box(0, 0, 1, 1), crs), level_m=0.9)


def test_cells_that_were_gathered_once_serve_again(stack, grid, crs):
    swim = one(box(0.2, 0.3, 2.9, 1.7), crs)
    again = swim_features(stack, swim, level_m=0.6, cells=gather_cells(grid, swim))
    assert again.equals(swim_features(stack, swim, level_m=0.6))


def test_the_rows_are_named_by_peg_in_the_given_order(stack, crs):
    swims = gpd.GeoSeries({"b": box(0, 0, 1, 1), "a": box(2, 2, 3, 3)}, crs=crs)
    table = swim_features(stack, swims.rename_axis("peg"), level_m=0.6)
    assert (list(table.index), table.index.name) == (["b", "a"], "peg")
    assert table["depth_m"].tolist() == [7.0, 3.0]


def test_mean_and_spread_are_unknown_where_no_cell_is_known():
    cells = SwimCells(np.array([0, 1]), np.array([0, 1]), np.ones(2))
    values = np.array([np.nan, 2.0])
    np.testing.assert_array_equal(swim_mean(values, cells, 3), [np.nan, 2.0, np.nan])
    np.testing.assert_array_equal(
        swim_deviation(values, cells, 3), [np.nan, 0.0, np.nan]
    )
