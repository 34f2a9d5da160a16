"""Layers as pictures: colours, classes and what is left out."""

from __future__ import annotations

import base64
import math
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS

from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.pages import palette
from pegscore.pages.overlays import (
    coarsened,
    dominant_class,
    layers_payload,
    overlays_of,
)
from pegscore.pages.warp import WebFrame

GRID = Grid.covering(
    Bounds(west=620000, east=620040, south=500000, north=500020),
    cell_m=1.0,
    crs=CRS("EPSG:27700"),
)


def layer(value: float) -> np.ndarray:
    return np.full(GRID.shape, value, np.float32)


def shown(stack: Stack, levels_m) -> list:
    return overlays_of(stack, levels_m, WebFrame(stack.grid))


def bytes_of(payload: dict, overlay: dict, level: int) -> np.ndarray:
    text = payload["pixels"][overlay["at"][level]]
    return np.frombuffer(base64.b64decode(text), np.uint8)


def test_a_layer_of_one_depth_is_that_depth_at_each_level():
    stack = Stack(
        grid=GRID,
        fixed={},
        by_level={0.6: {"depth": layer(0.7)}, 1.2: {"depth": layer(2.9)}},
    )
    payload = layers_payload(stack, [0.6, 1.2])
    (depth,) = payload["overlays"]
    assert depth["edges"] == [0.0, 0.5, 1.0, 1.5, 2.0, 2.5]
    for level, metres in enumerate((0.7, 2.9)):
        held = (bytes_of(payload, depth, level).astype(float) - 1) * depth["step"]
        # half a step of the packing
        np.testing.assert_allclose(held, metres, rtol=0, atol=depth["step"] / 2)
    assert depth["step"] < 0.012


def test_only_known_pixels_are_kept_and_the_runs_say_where():
    values = layer(np.nan).copy()
    values[5:9, 10:30] = 1.0
    stack = Stack(grid=GRID, fixed={}, by_level={0.6: {"depth": values}})
    payload = layers_payload(stack, [0.6])
    rows, columns = payload["shape"]
    flat = np.zeros(rows * columns, bool)
    ends = np.cumsum(payload["runs"])
    for start, end in zip(ends[::2], ends[1::2], strict=True):
        flat[start:end] = True
    expected = np.isfinite(WebFrame(GRID).sample(values))
    np.testing.assert_array_equal(flat.reshape(rows, columns), expected)
    assert len(bytes_of(payload, payload["overlays"][0], 0)) == expected.sum()


def test_a_level_that_was_not_built_has_no_layer():
    stack = Stack(grid=GRID, fixed={}, by_level={0.6: {"speed": layer(0.3)}})
    (speed,) = shown(stack, [0.6, 0.9])
    assert list(speed.layers) == [0.6]
    assert layers_payload(stack, [0.6, 0.9])["overlays"][0]["at"] == [0, None]


def test_a_stack_that_knows_nothing_has_no_overlays():
    empty = Stack(grid=GRID, fixed={}, by_level={0.6: {"depth": layer(np.nan)}})
    assert shown(empty, [0.6]) == []
    assert layers_payload(empty, [0.6])["runs"] == []


def test_the_bed_shows_the_greatest_share_under_its_own_name():
    fixed = {"sand": layer(0.3), "gravel": layer(0.7)}
    stack = Stack(grid=GRID, fixed=fixed, by_level={0.6: {}})
    (bed,) = shown(stack, [0.6])
    assert list(bed.words) == ["sand", "gravel"]
    held = bed.layers[0.6]
    assert set(held[np.isfinite(held)]) == {1.0}
    assert bed.colours[1] == palette.BED["gravel"]


def test_the_first_class_takes_a_tie():
    half = np.array([[0.5]], np.float32)
    assert dominant_class([half, half]).tolist() == [[0.0]]


def test_blocks_average_what_is_known_and_keep_the_corner():
    values = np.array([[1, 3, np.nan], [np.nan, 5, np.nan]], np.float32)
    grid = Grid(west=10, north=20, cell_m=1, rows=2, columns=3, crs=CRS("EPSG:27700"))
    coarse, coarse_grid = coarsened(values, grid, factor=2)
    # blocks of 2 x 2: the mean of 1, 3 and 5; then nothing known
    np.testing.assert_array_equal(coarse, [[3.0, np.nan]])
    assert (coarse_grid.west, coarse_grid.north, coarse_grid.cell_m) == (10, 20, 2)
    assert coarse_grid.shape == (1, 2)


def test_a_small_layer_is_not_touched():
    values = layer(1.0)
    same, grid = coarsened(values, GRID, factor=1)
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


# Full dichromacy in linear RGB: Machado, Oliveira & Fernandes 2009, IEEE Transactions
# on Visualization and Computer Graphics 15(6):1291-1298, table for severity 1.0 [M].
CVD = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def seen_lab(colour: str, matrix) -> np.ndarray:
    """The colour as seen, in CIE L*a*b* for D65 (CIE 15:2004; sRGB IEC 61966-2-1)."""
    share = np.array(palette.rgb(colour)) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    linear = np.clip(np.asarray(matrix) @ linear, 0, 1)
    to_xyz = [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
    ratio = (to_xyz @ linear) / [0.95047, 1.0, 1.08883]
    root = np.where(
        ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116
    )
    x, y, z = root
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


@pytest.mark.parametrize("kind", CVD)
@pytest.mark.parametrize(
    "colours",
    [palette.SCORE, palette.DEPTH, palette.SPEED, tuple(palette.BED.values())],
)
def test_no_two_classes_look_alike_to_any_colour_blind_eye(colours, kind):
    matrix = np.array(CVD[kind])
    np.testing.assert_allclose(matrix.sum(axis=1), 1.0, atol=2e-5)  # white stays white
    labs = [seen_lab(colour, matrix) for colour in colours]
    gaps = [np.linalg.norm(a - b) for a, b in combinations(labs, 2)]
    # CIE76: about 2.3 is just noticeable side by side; 10 is plain at a glance
    assert min(gaps) > 10


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
