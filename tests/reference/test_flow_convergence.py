"""The whole model on ever smaller cells: a smooth bend with a pool and a bar."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import CRS
from scipy.interpolate import LinearNDInterpolator
from shapely import LineString

from layers.channel import Channel
from layers.flow import solve_flow
from layers.grid import Bounds, Grid
from layers.river import Rating
from layers.waterline import Waterline

WIDE_M, LONG_M = 32.0, 320.0
RATING = Rating(a=20.0, b=1.5, offset_m=0.0)


@pytest.fixture(scope="module")
def speed_at():
    """Return speeds at fixed places of the inner reach for a size of cell."""
    at = np.linspace(0, LONG_M, 200)
    heading = 0.6 * np.sin(2 * np.pi * at / LONG_M)
    step = LONG_M / 199
    line = LineString(
        np.column_stack([np.cumsum(np.cos(heading)), np.cumsum(np.sin(heading))]) * step
    )
    water = line.buffer(WIDE_M / 2, cap_style="flat")
    channel = Channel.fit(line, water)
    s, n = np.meshgrid(np.linspace(60, 260, 60), np.linspace(-13, 13, 27))
    places = np.column_stack(channel.to_world(s.ravel(), n.ravel()))

    def solved(cell_m, core):
        grid = Grid.covering(Bounds.of(water), cell_m=cell_m, crs=CRS("EPSG:27700"))
        cells = channel.wet_cells(grid)
        wave = np.sin(2 * np.pi * cells.chainage_m / 160)
        depth_m = 1.2 + 0.5 * wave * cells.offset_m / (WIDE_M / 2)
        slope = 6e-4
        field = solve_flow(
            cells=cells,
            bed_m=20.0 - slope * cells.chainage_m - depth_m,
            bed_sd_m=np.full(depth_m.shape, 0.05),
            shares=None,
            channel=channel,
            grid=grid,
            waterline=Waterline(
                gauge_chainage_m=0.0, zero_m=19.0, slope=slope, note=""
            ),
            speeds=None,
            rating=RATING,
            flows=None,
            level_m=1.0,
            core=core,
        )
        found = LinearNDInterpolator(
            np.c_[cells.easting, cells.northing], field.speed_m_s
        )
        return found(places)

    return solved


@pytest.mark.slow
@pytest.mark.parametrize("core", ["planar", "conveyance"])
def test_halving_the_cells_changes_the_speed_ever_less(speed_at, core):
    coarse, middle, fine = (speed_at(cell_m, core) for cell_m in (4.0, 2.0, 1.0))
    first, second = (
        float(np.sqrt(np.nanmean((one - other) ** 2)))
        for one, other in ((coarse, middle), (middle, fine))
    )
    # First order would halve it; the mean speed is 0.52 m/s.
    assert second <= 0.6 * first
    assert second <= 0.01
