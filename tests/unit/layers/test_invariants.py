"""Rules that every stack keeps are looked at, and a broken one is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pyproj import CRS
from shapely import LineString, Polygon

from layers.channel import Channel
from layers.grid import Bounds, Grid
from layers.invariants import broken_rules, discharge_along
from layers.stack import Stack

LEVEL_M = 0.6
LINE = LineString([(1000.0, 50.0), (1800.0, 50.0)])
WATER = Polygon([(1000, 40), (1800, 40), (1800, 60), (1000, 60)])


@pytest.fixture(scope="module")
def made() -> tuple[Stack, object]:
    """A straight river 800 m by 20 m, 2 m deep at 0.5 m/s: 20 m³/s by hand."""
    grid = Grid.covering(Bounds.of(WATER), cell_m=2.0, crs=CRS("EPSG:27700"))
    cells = Channel.fit(LINE, WATER).wet_cells(grid)
    wet = np.full(grid.shape, np.nan, np.float32)
    wet[cells.rows, cells.columns] = 1.0
    stack = Stack(
        grid=grid,
        fixed={"bed": wet, "bed_sd": 0.1 * wet, "sand": 0.3 * wet, "gravel": 0.7 * wet},
        by_level={LEVEL_M: {"depth": 2 * wet, "speed": 0.5 * wet}},
    )
    return stack, cells


def spoilt(stack: Stack, name: str, factor: float) -> Stack:
    """The lower half of the river with one layer times a factor."""
    half = np.ones(stack.grid.shape, np.float32)
    half[:, stack.grid.columns // 2 :] = factor
    layers = dict(stack.by_level[LEVEL_M])
    if name in layers:
        layers[name] = layers[name] * half
        return replace(stack, by_level={LEVEL_M: layers})
    return replace(stack, fixed={**stack.fixed, name: stack.fixed[name] * half})


def test_the_discharge_is_breadth_times_depth_times_speed(made):
    found = discharge_along(*made, LEVEL_M)
    assert found == pytest.approx(np.full(len(found), 20 * 2 * 0.5), rel=0.005)


def test_a_sound_stack_breaks_no_rule(made):
    assert broken_rules(*made) == []


@pytest.mark.parametrize(
    ("name", "factor", "words"),
    [
        ("speed", 1.1, "the discharge along the reach is not the same"),
        ("depth", -1.0, "depth at 0.60 m are below zero"),
        ("bed_sd", -1.0, "error of the bed are below zero"),
        ("sand", 2.0, "do not sum to 1"),
        ("gravel", 2.0, "outside 0 to 1"),
    ],
)
def test_each_broken_rule_is_told(made, name: str, factor: float, words: str):
    stack, cells = made
    told = broken_rules(spoilt(stack, name, factor), cells)
    assert any(words in text for text in told), told
