"""Pixel arithmetic, checked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS
from shapely import Polygon, box

from layers.errors import GridMismatch, LayerError
from layers.grid import Bounds, Grid

BRITISH = CRS("EPSG:27700")


def grid_of(cell_m: float = 1.0) -> Grid:
    return Grid.covering(
        Bounds(west=0, east=4, south=0, north=3), cell_m=cell_m, crs=BRITISH
    )


def test_row_zero_is_in_the_north_and_column_zero_in_the_west():
    row, column = grid_of().cell_at([0.5, 3.5], [2.5, 0.5])
    assert row.tolist() == [0, 2]
    assert column.tolist() == [0, 3]


def test_centres_lie_half_a_cell_inside():
    easting, northing = grid_of().centres()
    assert easting.tolist() == [0.5, 1.5, 2.5, 3.5]
    assert northing.tolist() == [2.5, 1.5, 0.5]


def test_a_point_outside_is_not_held():
    grid = grid_of()
    assert grid.holds(*grid.cell_at([-0.1, 4.1, 1.0], [1.0, 1.0, 1.0])).tolist() == [
        False,
        False,
        True,
    ]


def test_a_mask_takes_cells_by_their_centre():
    mask = grid_of().mask_of(box(0.4, 0.4, 2.4, 1.6))
    assert mask.sum() == 4
    assert mask[1:, :2].all()


def test_a_hole_is_left_out_of_the_mask():
    ring = Polygon(box(0, 0, 4, 3).exterior, [box(1, 1, 2, 2).exterior])
    assert not grid_of().mask_of(ring)[1, 1]
    assert grid_of().mask_of(ring).sum() == 11


def test_an_empty_shape_holds_no_cell():
    assert grid_of().mask_of(Polygon()).sum() == 0


@pytest.mark.parametrize("cell_m", [0, -1, float("nan"), float("inf")])
def test_a_cell_size_that_is_none_is_refused_with_its_value(cell_m: float):
    with pytest.raises(LayerError, match=f"cell size is {cell_m}"):
        grid_of(cell_m)


def test_a_grid_too_large_for_a_laptop_is_refused_with_its_size():
    box_ = Bounds(west=0, east=1e6, south=0, north=1e6)
    with pytest.raises(LayerError, match="1000000 x 1000000 cells"):
        Grid.covering(box_, cell_m=1, crs=BRITISH)


def test_two_grids_that_differ_are_told_apart():
    with pytest.raises(GridMismatch, match=r"depth.tif lies on a grid of \(6, 8\)"):
        grid_of().require_same(grid_of(0.5), what="depth.tif")


coordinates = st.floats(-1e5, 1e5, allow_nan=False)
sizes = st.floats(0.1, 500)


@given(west=coordinates, south=coordinates, wide=sizes, high=sizes)
def test_a_covering_grid_covers_and_wastes_less_than_a_cell(west, south, wide, high):
    wanted = Bounds(west=west, east=west + wide, south=south, north=south + high)
    cell_m = 5.0
    found = Grid.covering(wanted, cell_m=cell_m, crs=BRITISH).bounds
    slack = 1e-6  # metres: rounding of coordinates near 1e5
    assert found.west <= wanted.west + slack
    assert found.east >= wanted.east - slack
    assert found.south <= wanted.south + slack
    assert found.north >= wanted.north - slack
    assert wanted.west - found.west < cell_m + slack
    assert found.east - wanted.east < cell_m + slack


@given(row=st.integers(0, 2), column=st.integers(0, 3))
def test_a_cells_centre_lies_in_that_cell(row: int, column: int):
    grid = grid_of()
    easting, northing = grid.centres()
    at = grid.cell_at(easting[column], northing[row])
    assert (int(at[0]), int(at[1])) == (row, column)
    assert np.all(grid.holds(*at))
