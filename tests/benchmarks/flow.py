"""Time and memory of one level of flow: ``python tests/benchmarks/flow.py``.

A channel of 34 m over a bed with pools, at cells of 4, 2 and 1 m and at twice the
length; the time is for one level of a fitted model, the memory the process's peak.
"""

from __future__ import annotations

import resource
import time

import numpy as np
from pyproj import CRS
from shapely import LineString

from layers.channel import Channel
from layers.flow import fit_flow, flow_field
from layers.grid import Bounds, Grid
from layers.river import Rating
from layers.waterline import Waterline

CASES = ((1600.0, 4.0), (1600.0, 2.0), (3200.0, 2.0), (1600.0, 1.0))


def measure(long_m, cell_m):
    line = LineString([(0.0, 0.0), (long_m, 0.0)])
    water = line.buffer(17.0, cap_style="flat")
    channel = Channel.fit(line, water)
    grid = Grid.covering(Bounds.of(water), cell_m=cell_m, crs=CRS("EPSG:27700"))
    cells = channel.wet_cells(grid)
    wave = np.sin(cells.chainage_m / 40) * cells.offset_m / 17
    bed_m = 20.0 - 6e-4 * cells.chainage_m - 1.2 - 0.4 * wave
    line_m = Waterline(gauge_chainage_m=0.0, zero_m=19.0, slope=6e-4, note="")
    model = fit_flow(
        cells=cells,
        bed_m=bed_m,
        shares=None,
        channel=channel,
        grid=grid,
        waterline=line_m,
        speeds=None,
        rating=Rating(a=20.0, b=1.5, offset_m=0.0),
        flows=None,
        level_m=1.0,
    )
    start = time.perf_counter()
    flow_field(model, np.full(bed_m.shape, 0.1), level_m=1.1)
    return len(cells), time.perf_counter() - start


for long_m, cell_m in CASES:
    count, seconds = measure(long_m, cell_m)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{long_m:.0f} m at {cell_m:.0f} m: {count:,} cells, {seconds:.2f} s, "
        f"{1e6 * seconds / count:.0f} us a cell, peak so far {peak_mb:.0f} MB"
    )
