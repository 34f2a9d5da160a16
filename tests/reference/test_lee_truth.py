"""The geometric lee of a groyne against full shallow-water flow past it.

The solver is the tests' own and shares nothing with the package. Its mixing (Elder) is
weak for a shear layer, so that its eddies are long: what is asked is that nothing is
called a lee where the water runs, not that all of the eddy is found.
"""

from __future__ import annotations

import numpy as np
import pytest

from layers.lees import find_lees

LENGTH_M, HALF_WIDTH_M = 240.0, 20.0
ALONG_M, ACROSS_M = 4.0, 2.0
SLOPE, DEPTH_M, MANNING = 3e-4, 1.5, 0.03


@pytest.mark.slow
def test_what_is_called_a_lee_is_slow_or_turns_back(shallow_water):
    """A groyne of 8 m on the left bank; slack is under 0.15 m/s downstream."""
    along = np.arange(0.0, LENGTH_M + 1, ALONG_M)
    across = np.arange(-HALF_WIDTH_M, HALF_WIDTH_M + 1, ACROSS_M)
    mesh = shallow_water.Mesh.along(along, 0 * along, 0 * along, across)
    middle, offset = (along[1:] + along[:-1]) / 2, (across[1:] + across[:-1]) / 2
    bed_m = -SLOPE * middle[:, None] + 0 * offset
    groyne = int(np.abs(middle - 62.0).argmin())
    bed_m[groyne, offset > HALF_WIDTH_M - 8.0] += 5.0
    usual_m_s = DEPTH_M ** (2 / 3) / MANNING * SLOPE**0.5
    case = shallow_water.Case(
        mesh=mesh,
        bed_m=bed_m,
        manning=np.full(bed_m.shape, MANNING),
        inflow_m3_s=usual_m_s * DEPTH_M * 2 * HALF_WIDTH_M,
        stage_m=DEPTH_M - SLOPE * LENGTH_M,
    )
    deep_m = np.maximum(DEPTH_M - SLOPE * middle[:, None] - bed_m, 0.0)
    start = np.stack([deep_m, usual_m_s * deep_m, 0 * deep_m])
    state = shallow_water.march(case, start, steps=1500)
    down_m_s, _ = shallow_water.velocity(state)
    # the sheet of the geometry has square nodes and land beyond its edges
    slow, wet = (
        np.pad(
            np.repeat(np.repeat(mask, int(ALONG_M), axis=0), int(ACROSS_M), axis=1),
            ((0, 0), (1, 1)),
        )
        for mask in (down_m_s < 0.15, state[0] > 0.05)
    )
    lee = find_lees(~wet, wet, step_m=1.0)
    assert lee.sum() == pytest.approx(2.5 * 8.0**2, rel=0.05)  # a triangle 8 by 40 m
    assert np.mean(slow[lee]) > 0.95
    # ... which is not because everything is slow
    assert np.mean(slow[wet]) < 0.15
