"""How the surface bends away from the surveyed one."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, box

from layers.backwater import Stage, bend_of_surface
from layers.channel import Channel
from layers.conveyance import Reach, Sections
from layers.grid import Bounds, Grid
from layers.waterline import Waterline

WATER = box(0, -10, 600, 10)
N, SLOPE = 0.03, 1e-3


def flow(depth_m):
    """Return Manning's flow of the even channel, 20 m wide, R = h."""
    return 20 * depth_m ** (5 / 3) / N * SLOPE**0.5


def reach(crs, sill_m=0.0, slope=SLOPE):
    channel = Channel.fit(LineString([(0, 0), (600, 0)]), WATER)
    grid = Grid.covering(Bounds.of(WATER), cell_m=2.0, crs=crs)
    cells = channel.wet_cells(grid)
    line = Waterline(gauge_chainage_m=590.0, zero_m=10.0, slope=slope, note="")
    bed_m = 9.0 + slope * (590.0 - cells.chainage_m)
    bed_m += np.where(np.abs(cells.chainage_m - 300) < 20, sill_m, 0.0)
    return Reach(
        cells=cells,
        grid=grid,
        sections=Sections.cut(cells, channel, grid),
        bed_m=bed_m,
        roughness=np.full(bed_m.shape, N),
        waterline=line,
    )


def test_in_an_even_channel_the_surface_shifts_as_a_whole(crs):
    surveyed = Stage(level_m=1.0, flow_m3_s=flow(2.0))
    wanted = Stage(level_m=0.0, flow_m3_s=flow(1.0))
    bend_m = bend_of_surface(reach(crs), surveyed, wanted)
    np.testing.assert_allclose(bend_m, 0.0, atol=1e-3)  # the march's tolerance


def test_a_sill_holds_low_water_up_behind_it(crs):
    surveyed = Stage(level_m=1.0, flow_m3_s=flow(2.0))
    wanted = Stage(level_m=0.0, flow_m3_s=flow(1.0))
    river = reach(crs, sill_m=0.6)
    bend_m = bend_of_surface(river, surveyed, wanted)
    above = bend_m[np.abs(river.cells.chainage_m - 250) < 3].mean()
    below = bend_m[np.abs(river.cells.chainage_m - 450) < 3].mean()
    assert above > below + 0.05
    gauge = bend_m[np.abs(river.cells.chainage_m - 590) < 2]
    np.testing.assert_allclose(gauge, 0.0, atol=5e-3)  # a section's length away


@pytest.mark.parametrize(
    ("slope", "flow_m3_s"), [(0.0, 5.0), (SLOPE, np.nan), (SLOPE, 0.0)]
)
def test_without_slope_or_discharge_nothing_is_claimed(crs, slope, flow_m3_s):
    surveyed = Stage(level_m=1.0, flow_m3_s=20.0)
    wanted = Stage(level_m=0.0, flow_m3_s=flow_m3_s)
    assert bend_of_surface(reach(crs, slope=slope), surveyed, wanted) is None
