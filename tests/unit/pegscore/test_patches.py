"""The best patch on rasters small enough to see it."""

from __future__ import annotations

import numpy as np
import pytest

from layers.grid import Bounds, Grid
from pegscore.coverage import SwimCells
from pegscore.patches import best_patch

ROUNDING = {"rtol": 1e-12, "atol": 1e-12}  # a few additions in double precision


def patch_of(picture, crs, *, weights=None, threshold=0.5, cell_m=1.0):
    """Return the best patch of one swim that covers the whole picture."""
    scores = np.array(picture, float)
    rows, columns = scores.shape
    bounds = Bounds(west=0, east=columns * cell_m, south=0, north=rows * cell_m)
    grid = Grid.covering(bounds, cell_m=cell_m, crs=crs)
    weight = np.ones(scores.size) if weights is None else np.ravel(weights)
    cells = SwimCells(np.zeros(scores.size, int), np.arange(scores.size), weight)
    flat = scores.ravel()
    return best_patch(flat, cells, grid, n_swims=1, threshold=threshold).loc[0]


def test_the_largest_piece_of_good_water_is_found(crs):
    patch = patch_of([[1.0, 0.0, 0.6, 0.6], [0.0, 0.0, 0.9, 0.0]], crs)
    # cells (0, 2), (0, 3), (1, 2): centres at 2.5, 3.5, 2.5 east; 1.5, 1.5, 0.5 north
    expected = [0.7, 3.0, 8.5 / 3, 3.5 / 3]
    np.testing.assert_allclose(patch, expected, **ROUNDING)


def test_cells_that_touch_at_a_corner_only_are_two_patches(crs):
    assert patch_of([[0.9, 0.0], [0.0, 0.9]], crs)["best_patch_m2"] == 1.0


def test_the_end_of_a_row_does_not_touch_the_start_of_the_next(crs):
    picture = [[0.0, 0.0, 0.9], [0.9, 0.0, 0.0]]
    assert patch_of(picture, crs)["best_patch_m2"] == 1.0


def test_of_two_equal_patches_the_better_one_is_taken(crs):
    assert patch_of([[0.6, 0.0, 0.8]], crs)["best_patch_score"] == 0.8


def test_of_two_equal_and_as_good_patches_the_northern_one_is_taken(crs):
    patch = patch_of([[0.8], [0.0], [0.8]], crs)
    assert patch["best_patch_northing"] == 2.5


def test_cells_covered_in_part_count_in_part(crs):
    patch = patch_of([[0.5, 1.0]], crs, weights=[[0.5, 1.0]], cell_m=2.0)
    # areas 2 and 4 m2; mean (2 x 0.5 + 4 x 1) / 6; east (2 x 1 + 4 x 3) / 6
    expected = [5 / 6, 6.0, 14 / 6, 1.0]
    np.testing.assert_allclose(patch, expected, **ROUNDING)


def test_a_score_at_the_threshold_is_good(crs):
    assert patch_of([[0.5]], crs, threshold=0.5)["best_patch_m2"] == 1.0


def test_without_good_water_the_patch_is_nothing(crs):
    patch = patch_of([[0.4, np.nan]], crs)
    assert patch["best_patch_m2"] == 0.0
    assert patch.drop("best_patch_m2").isna().all()


def test_where_no_score_is_known_the_patch_is_unknown(crs):
    assert patch_of([[np.nan, np.nan]], crs).isna().all()


def test_neighbouring_cells_of_two_swims_are_two_patches(straight_grid):
    cells = SwimCells(np.array([0, 1, 1]), np.array([0, 1, 2]), np.ones(3))
    table = best_patch(np.ones(3), cells, straight_grid, n_swims=3)
    assert table["best_patch_m2"].tolist()[:2] == [1.0, 2.0]
    assert np.isnan(table.loc[2, "best_patch_m2"])


@pytest.mark.parametrize("threshold", [0.2, 0.7])
def test_patches_agree_with_labelled_images(straight_grid, rng, threshold):
    from scipy import ndimage  # noqa: PLC0415 the independent way, here alone

    scores = rng.random(straight_grid.shape)
    label, count = ndimage.label(scores >= threshold)
    areas = ndimage.sum_labels(np.ones_like(scores), label, np.arange(1, count + 1))
    cells = SwimCells(
        np.zeros(scores.size, int), np.arange(scores.size), np.ones(scores.size)
    )
    table = best_patch(
        scores.ravel(), cells, straight_grid, n_swims=1, threshold=threshold
    )
    assert table.loc[0, "best_patch_m2"] == areas.max()
