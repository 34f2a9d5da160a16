"""Levels between built ones, in waters that can be worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layers.errors import LevelMissing
from layers.grid import Bounds, Grid
from layers.levels import interpolate_level, lies_between, stack_at
from layers.stack import Stack


def water(depth_m, speed_m_s):
    layers = {"depth": depth_m, "speed": speed_m_s, "speed_sd": 0.05 + 0 * depth_m}
    return {name: np.array([values], np.float32) for name, values in layers.items()}


@pytest.fixture
def stack(crs):
    """Return a wide channel by Manning and a bar that is dry at the lower level."""
    grid = Grid.covering(Bounds(west=0, east=2, south=0, north=1), cell_m=1, crs=crs)
    low = np.array([1.0, np.nan])
    high = np.array([2.0, 0.4])
    by_level = {
        0.5: water(low, 0.5 * low ** (2 / 3)),
        1.5: water(high, 0.5 * high ** (2 / 3)),
    }
    return Stack(grid=grid, fixed={}, by_level=by_level, notes=("as built",))


@pytest.mark.parametrize("level_m", [0.6, 1.0, 1.4])
def test_a_wide_channel_under_manning_is_met_exactly(stack, level_m):
    found = interpolate_level(stack, level_m)
    assert found["depth"][0, 0] == pytest.approx(level_m + 0.5, rel=1e-6)  # float32
    expected = 0.5 * (level_m + 0.5) ** (2 / 3)
    assert found["speed"][0, 0] == pytest.approx(expected, rel=1e-6)


def test_a_bar_falls_dry_where_the_sinking_water_meets_it(stack):
    # 0.4 m deep at 1.5 m: 0.1 m at 1.2 m, dry (0.05 m or less) from 1.15 m down.
    wet, dry = (interpolate_level(stack, level) for level in (1.2, 1.14))
    assert wet["depth"][0, 1] == pytest.approx(0.1, rel=1e-5)
    assert wet["speed"][0, 1] == pytest.approx(0.5 * 0.1 ** (2 / 3), rel=1e-5)
    assert all(np.isnan(dry[name][0, 1]) for name in ("depth", "speed", "speed_sd"))


def test_a_built_level_is_returned_as_it_is(stack):
    assert interpolate_level(stack, 1.5)["depth"] is stack.layer("depth", level_m=1.5)
    assert stack_at(stack, 0.5) is stack


def test_nothing_is_guessed_beyond_the_built_levels(stack):
    with pytest.raises(LevelMissing, match=r"1.6 m lies beyond .*0.500, 1.500"):
        interpolate_level(stack, 1.6)
    with pytest.raises(LevelMissing, match="--level"):
        stack_at(stack, 0.4)


def test_a_stack_gains_the_level_and_says_where_it_comes_from(stack):
    more = stack_at(stack, 1.0)
    assert more.levels_m == (0.5, 1.0, 1.5)
    assert "between 0.50 and 1.50 m" in more.notes[-1]
    assert more.notes[0] == "as built"


def test_two_levels_are_both_reckoned_from_what_was_built(stack):
    both = stack_at(stack, 0.8, 1.3)
    alone = stack_at(stack, 1.3)
    assert both.levels_m == (0.5, 0.8, 1.3, 1.5)
    for name in ("depth", "speed"):
        np.testing.assert_array_equal(
            both.layer(name, level_m=1.3), alone.layer(name, level_m=1.3)
        )


@pytest.mark.parametrize(
    ("level_m", "expected"),
    [(0.5, True), (0.7, True), (1.5, True), (1.2, False), (1.6, False), (0.4, False)],
)
def test_only_between_near_built_levels_is_bridged_unasked(stack, level_m, expected):
    # Built at 0.5, 0.89 and 1.5 m: the upper gap, 0.61 m, is too wide.
    more = {0.89: stack.by_level[0.5], **stack.by_level}
    assert lies_between(replace(stack, by_level=more), level_m) is expected
    assert lies_between(replace(stack, by_level={}), level_m) is False


def test_half_a_guess_is_a_guess(stack):
    # Sheltered at the lower level alone; dry there and open above; dry at 1.14 m.
    marks = {0.5: [1.0, np.nan], 1.5: [0.0, 0.0]}
    by_level = {
        level: {**layers, "sheltered": np.array([marks[level]], np.float32)}
        for level, layers in stack.by_level.items()
    }
    found = interpolate_level(replace(stack, by_level=by_level), 1.2)["sheltered"]
    assert found.tolist() == [[1.0, 0.0]]
    sunk = interpolate_level(replace(stack, by_level=by_level), 1.14)["sheltered"]
    assert np.isnan(sunk[0, 1])


def test_between_two_levels_the_layers_rise_without_a_jump(stack):
    levels = np.linspace(0.5, 1.5, 41)
    depth = [interpolate_level(stack, level)["depth"][0, 0] for level in levels]
    # 1 m over 40 steps.
    np.testing.assert_allclose(np.diff(depth), 0.025, rtol=1e-4)
