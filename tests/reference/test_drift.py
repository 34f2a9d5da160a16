"""Drift beside closed forms and a reference solver of differential equations.

The reference (``scipy.integrate.solve_ivp``, tolerances 1e-10) follows a grain in the
plane of depth and distance: carried at the profile's speed where it is, sinking
through water that itself rises and falls with the bed. Nothing of ``pegscore.drift``
is used in it. Accuracy asked for: 1 % of the drift.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from pegscore.drift import (
    Stream,
    landing_m,
    log_law_carried,
    sinking_path,
    throw_m,
)

ONE_PER_CENT = 0.01
ALONG_M = np.arange(0.0, 61.0)


def even(depth_m: float, speed_m_s: float) -> Stream:
    return Stream(
        along_m=np.array([0.0, 200.0]),
        depth_m=np.full(2, depth_m),
        speed_m_s=np.full(2, speed_m_s),
    )


def power(height):
    return 7 / 6 * height ** (1 / 6)


def logarithmic(height, z0=0.002):
    whole = -np.log(z0) - 1 + z0
    return np.where(height > z0, np.log(np.maximum(height, z0) / z0) / whole, 0.0)


def solved(depth_of, speed_of, shape, *, thrown_m, settling_m_s):
    """Return the landing and a dense path from the reference solver."""

    def moving(_, state):
        along, below = state
        depth = depth_of(along)
        slope = (depth_of(along + 1e-5) - depth_of(along - 1e-5)) / 2e-5
        forward = speed_of(along) * float(shape(max(1 - below / depth, 0.0)))
        return forward, settling_m_s + below / depth * slope * forward

    def bottom(_, state):
        return depth_of(state[0]) - state[1] - 1e-9

    bottom.terminal = True
    path = solve_ivp(
        moving, (0, 1000), (thrown_m, 0.0), events=bottom, rtol=1e-10, atol=1e-12,
        max_step=0.5,
    )  # fmt: skip
    assert path.status == 1, "the reference never met the bottom"
    return path.y


def pool_depth(along):
    return 1.2 + 0.5 * np.sin(along / 7.0)


def quickening(along):
    return 0.35 + 0.1 * np.cos(along / 11.0)


def pool() -> Stream:
    return Stream(
        along_m=ALONG_M, depth_m=pool_depth(ALONG_M), speed_m_s=quickening(ALONG_M)
    )


@pytest.mark.parametrize("speed_m_s", [0.05, 0.4, 1.1])
@pytest.mark.parametrize("settling_m_s", [0.04, 0.12])
def test_even_water_drifts_feed_by_speed_times_depth_over_settling(
    speed_m_s, settling_m_s
):
    found = landing_m(even(1.5, speed_m_s), 3.0, settling_m_s) - 3.0
    assert found == pytest.approx(speed_m_s * 1.5 / settling_m_s, rel=1e-6)


def test_the_drift_is_the_flow_past_a_metre_over_settling_whatever_the_bed_does():
    depth_m = pool_depth(ALONG_M)
    steady = Stream(along_m=ALONG_M, depth_m=depth_m, speed_m_s=0.48 / depth_m)
    # the flow is 0.48 m²/s at each metre; between them depth and speed are linear and
    # their product a little above it
    assert landing_m(steady, 2.0, 0.08) - 2.0 == pytest.approx(6.0, rel=ONE_PER_CENT)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_the_path_through_a_power_law_is_the_closed_form(share):
    # u = 7/6 U z^(1/6): from surface to height z it is carried U h/w (1 - z^(7/6))
    found = sinking_path(even(1.5, 0.4), 0.0, 0.1, sunk_frac=[share])[0]
    assert found == pytest.approx(6.0 * (1 - (1 - share) ** (7 / 6)), rel=1e-6)


@pytest.mark.parametrize("shape", [power, logarithmic])
@pytest.mark.parametrize("thrown_m", [0.0, 12.0])
@pytest.mark.parametrize("settling_m_s", [0.05, 0.13])
def test_uneven_water_drifts_feed_as_the_reference_solver_does(
    shape, thrown_m, settling_m_s
):
    along, _ = solved(
        pool_depth, quickening, shape, thrown_m=thrown_m, settling_m_s=settling_m_s
    )
    drift = along[-1] - thrown_m
    found = landing_m(pool(), thrown_m, settling_m_s) - thrown_m
    assert found == pytest.approx(drift, rel=ONE_PER_CENT)


def test_the_path_in_uneven_water_is_the_reference_solvers():
    along, below = solved(
        pool_depth, quickening, logarithmic, thrown_m=4.0, settling_m_s=0.06
    )
    inside = slice(1, -1, 20)
    found = sinking_path(
        pool(),
        4.0,
        0.06,
        sunk_frac=below[inside] / pool_depth(along[inside]),
        carried=lambda height: log_law_carried(height, relative_z0=0.002),
    )
    np.testing.assert_allclose(
        found - 4.0, along[inside] - 4.0, atol=ONE_PER_CENT * (along[-1] - 4.0)
    )


@pytest.mark.parametrize("landed_m", [15.0, 30.0])
def test_the_throw_that_is_worked_out_lands_where_it_was_wanted(landed_m):
    thrown = throw_m(pool(), landed_m, 0.07)
    along, _ = solved(
        pool_depth, quickening, power, thrown_m=float(thrown), settling_m_s=0.07
    )
    assert along[-1] == pytest.approx(landed_m, abs=ONE_PER_CENT * landed_m)
