"""Layers as pictures: colours, classes and what is left out."""

from __future__ import annotations

import base64
import math
from itertools import pairwise

import numpy as np
import pytest
import rasterio
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS

from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.pages import palette
from pegscore.pages.overlays import coarsened, dominant_class, overlays_of, png_of

GRID = Grid.covering(
    Bounds(west=620000, east=620040, south=500000, north=500020),
    cell_m=1.0,
    crs=CRS("EPSG:27700"),
)


def layer(value: float) -> np.ndarray:
    return np.full(GRID.shape, value, np.float32)


def pixels_of(png: bytes) -> np.ndarray:
    """Decode with GDAL, which did not write it."""
    with (
        rasterio.MemoryFile(png) as memory,
        pytest.warns(rasterio.errors.NotGeoreferencedWarning),
        memory.open() as picture,
    ):
        return np.moveaxis(picture.read(), 0, -1)


def test_classes_take_their_colours_and_the_unknown_is_clear():
    classes = np.array([[0, 1, np.nan]], np.float32)
    pixels = pixels_of(png_of(classes, ["#ff8000", "#000000"]))
    assert pixels[0].tolist() == [[255, 128, 0, 255], [0, 0, 0, 255], [0, 0, 0, 0]]


def test_a_layer_of_one_depth_is_one_colour_at_each_level():
    stack = Stack(
        grid=GRID,
        fixed={},
        by_level={0.6: {"depth": layer(0.7)}, 1.2: {"depth": layer(2.9)}},
    )
    (depth,) = overlays_of(stack, [0.6, 1.2])
    assert list(depth.edges) == [0.0, 0.5, 1.0, 1.5, 2.0, 2.5]
    for level_m, colour in ((0.6, palette.DEPTH[1]), (1.2, palette.DEPTH[5])):
        _, code = depth.pictures[level_m].address.split(",")
        pixels = pixels_of(base64.b64decode(code))
        shown = {tuple(p[:3]) for p in pixels.reshape(-1, 4) if p[3]}
        assert shown == {palette.rgb(colour)}


def test_a_level_that_was_not_built_has_no_picture():
    stack = Stack(grid=GRID, fixed={}, by_level={0.6: {"speed": layer(0.3)}})
    (speed,) = overlays_of(stack, [0.6, 0.9])
    assert list(speed.pictures) == [0.6]


def test_a_stack_that_knows_nothing_has_no_overlays():
    empty = Stack(grid=GRID, fixed={}, by_level={0.6: {"depth": layer(np.nan)}})
    assert overlays_of(empty, [0.6]) == []


def test_the_bed_shows_the_greatest_share_under_its_own_name():
    fixed = {"sand": layer(0.3), "gravel": layer(0.7)}
    stack = Stack(grid=GRID, fixed=fixed, by_level={0.6: {}})
    (bed,) = overlays_of(stack, [0.6])
    assert list(bed.words) == ["sand", "gravel"]
    _, code = bed.pictures[0.6].address.split(",")
    pixels = pixels_of(base64.b64decode(code)).reshape(-1, 4)
    shown = {tuple(p[:3]) for p in pixels if p[3]}
    assert shown == {palette.rgb(palette.BED["gravel"])}


def test_the_first_class_takes_a_tie():
    half = np.array([[0.5]], np.float32)
    assert dominant_class([half, half]).tolist() == [[0.0]]


def test_blocks_average_what_is_known_and_keep_the_corner():
    values = np.array([[1, 3, np.nan], [np.nan, 5, np.nan]], np.float32)
    grid = Grid(west=10, north=20, cell_m=1, rows=2, columns=3, crs=CRS("EPSG:27700"))
    coarse, coarse_grid = coarsened(values, grid, most=2)
    # blocks of 2 x 2: the mean of 1, 3 and 5; then nothing known
    np.testing.assert_array_equal(coarse, [[3.0, np.nan]])
    assert (coarse_grid.west, coarse_grid.north, coarse_grid.cell_m) == (10, 20, 2)
    assert coarse_grid.shape == (1, 2)


def test_a_small_layer_is_not_touched():
    values = layer(1.0)
    same, grid = coarsened(values, GRID)
    assert same is values
    assert grid is GRID


@pytest.mark.parametrize(
    "colours",
    [palette.SCORE, palette.DEPTH, palette.SPEED, tuple(palette.BED.values())],
)
def test_colours_step_by_one_ratio_in_daylight(colours):
    steps = [
        palette.contrast(one, other, glare=palette.GLARE)
        for one, other in pairwise(colours)
    ]
    # colours have 256 steps a channel: the ratio holds to one per cent
    np.testing.assert_allclose(steps, np.mean(steps), rtol=0.01)
    assert min(steps) > 1.1


def test_the_glare_is_what_brings_black_on_white_to_what_was_measured():
    assert palette.contrast("#000000", "#ffffff", glare=palette.GLARE) == (
        pytest.approx(2.6, rel=1e-9)
    )


@pytest.mark.parametrize("colour", [*palette.SCORE, *palette.DEPTH, *palette.SPEED])
def test_the_ink_on_every_colour_can_be_read(colour):
    # 4.5 is the least contrast for text in WCAG 2.1, criterion 1.4.3
    assert palette.contrast(palette.ink_on(colour), colour) >= 4.5


@given(highest=st.floats(0.0, 1000.0), classes=st.integers(2, 9))
def test_legend_steps_are_equal_reach_the_highest_and_waste_little(highest, classes):
    edges = palette.equal_steps(highest, classes=classes)
    step = edges[1]
    # edges are rounded to a millionth
    np.testing.assert_allclose(np.diff(edges), step, rtol=1e-6, atol=1e-6)
    assert edges[0] == 0.0
    assert step * classes >= highest * (1 - 1e-6)
    wanted = max(highest, 0.01 * classes) / classes
    assert step <= 2.0 * wanted * (1 + 1e-6)
    assert math.isfinite(step)
