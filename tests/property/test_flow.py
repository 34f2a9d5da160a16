"""What holds for the flow over any bed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from shapely import LineString, box

from layers.channel import Channel
from layers.conveyance import Sections
from layers.flow import solve_flow
from layers.grid import Bounds, Grid
from layers.river import Rating
from layers.waterline import Waterline

WATER = box(0, -9, 90, 9)
CHANNEL = Channel.fit(LineString([(0, 0), (90, 0)]), WATER)
LEVEL = Waterline(gauge_chainage_m=0.0, zero_m=0.0, slope=0.0, note="")
# Depths of 0.6 m and more keep every trial far below critical speed.
DEPTHS = arrays(float, 30 * 6, elements=st.floats(0.6, 5.0))


@pytest.fixture(scope="module")
def grid(crs):
    return Grid.covering(Bounds.of(WATER), cell_m=3.0, crs=crs)


def solved(grid, depth_m, *, flow_m3_s=5.0, core="inertial"):
    cells = CHANNEL.wet_cells(grid)
    field = solve_flow(
        cells=cells,
        bed_m=-depth_m,
        bed_sd_m=np.zeros(depth_m.shape),
        shares=None,
        channel=CHANNEL,
        grid=grid,
        waterline=LEVEL,
        speeds=None,
        flows=None,
        rating=Rating(a=flow_m3_s, b=1.0, offset_m=-1.0),
        level_m=0.0,
        core=core,
    )
    return cells, field


@given(depth_m=DEPTHS)
def test_every_section_carries_the_discharge(depth_m, grid):
    cells, field = solved(grid, depth_m)
    sections = Sections.cut(cells, CHANNEL, grid)
    carried = sections.total(field.speed_m_s * field.depth_m * sections.width_m)
    # Sums of a few dozen rounded numbers.
    np.testing.assert_allclose(carried, 5.0, rtol=1e-9)


@given(depth_m=DEPTHS)
def test_by_conveyance_the_deeper_cell_of_a_section_is_never_slower(depth_m, grid):
    cells, field = solved(grid, depth_m, core="conveyance")
    sections = Sections.cut(cells, CHANNEL, grid)
    for number in range(sections.count):
        here = sections.of_cell == number
        by_depth = field.speed_m_s[here][np.argsort(field.depth_m[here])]
        assert np.all(np.diff(by_depth) >= -1e-12)  # equal depths, rounding


@given(depth_m=DEPTHS, factor=st.floats(0.1, 3.0))
def test_speed_is_in_proportion_to_the_discharge(depth_m, factor, grid):
    _, one = solved(grid, depth_m)
    _, other = solved(grid, depth_m, flow_m3_s=5.0 * factor)
    np.testing.assert_allclose(other.speed_m_s, factor * one.speed_m_s, rtol=1e-9)


@given(depth_m=arrays(float, 30 * 6, elements=st.floats(-2.0, 5.0)))
def test_speed_is_known_wherever_depth_is_and_nowhere_else(depth_m, grid):
    _, field = solved(grid, depth_m)
    wet = depth_m > 0.05
    np.testing.assert_array_equal(np.isfinite(field.depth_m), wet)
    np.testing.assert_array_equal(np.isfinite(field.speed_m_s), wet)
    np.testing.assert_array_equal(np.isfinite(field.speed_sd_m_s), wet)


@given(depth_m=arrays(float, 30 * 6, elements=st.floats(-2.0, 5.0)))
def test_no_cell_runs_faster_than_critical_or_backwards(depth_m, grid):
    _, field = solved(grid, depth_m)
    wet = np.isfinite(field.depth_m)
    critical = np.sqrt(9.81 * field.depth_m[wet])
    assert np.all(field.speed_m_s[wet] >= 0)
    assert np.all(field.speed_m_s[wet] <= critical * (1 + 1e-12))
