"""The water's surface against analytic channels and textbook tables."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from layers.errors import LayerError
from layers.profile import (
    Strips,
    Trapezoid,
    critical_level,
    normal_level,
    standard_step,
)

G = 9.81
FOOT_M = 0.3048
CFS_M3_S = FOOT_M**3


def wide(bed_m, n):
    return Strips(bed_m=np.array([bed_m]), width_m=np.ones(1), roughness=np.array([n]))


def bump(x):
    """MacDonald and others (1997), the tranquil kilometre of SWASHES 3.2.1."""
    return (4 / G) ** (1 / 3) * (1 + 0.5 * np.exp(-16 * (x / 1000 - 0.5) ** 2))


def waves(x):
    """MacDonald and others (1997), problem 3: five periodic kilometres."""
    return 9 / 8 + 0.25 * np.sin(np.pi * x / 500)


def macdonald(depth, length_m, n, step_m):
    """Return chainage, exact depth and the depth of the march, q = 2 m2/s.

    The bed has the slope ``(q² / (g h³) - 1) h' - n² q² / h^(10/3)``.
    """
    x = np.linspace(0, length_m, round(length_m / step_m) + 1)

    def fall(at):
        h = depth(at)
        steep = (depth(at + 1e-4) - depth(at - 1e-4)) / 2e-4
        return (4 / (G * h**3) - 1) * steep - n**2 * 4 / h ** (10 / 3)

    drops = [quad(fall, a, b, epsabs=1e-12)[0] for a, b in pairwise(x)]
    bed_m = np.append(-np.cumsum(drops[::-1])[::-1], 0.0)
    found = standard_step(
        [wide(z, n) for z in bed_m], x, 2.0, level_m=float(depth(length_m))
    )
    return depth(x), found.level_m - bed_m


@pytest.mark.parametrize(
    ("depth", "length_m", "n"), [(bump, 1000, 0.033), (waves, 5000, 0.03)]
)
def test_macdonald_s_channels_are_met_with_second_order(depth, length_m, n):
    worst = []
    for step_m in (50, 10):
        exact, found = macdonald(depth, length_m, n, step_m)
        worst.append(np.abs(found - exact).max())
    assert worst[1] < 2e-4
    assert np.log(worst[0] / worst[1]) / np.log(5) >= 1.9


def test_without_flow_the_water_lies_flat_over_any_bed():
    draw = np.random.default_rng(1)
    beds = [wide(z, 0.03) for z in draw.uniform(0, 3, 40)]
    found = standard_step(beds, np.arange(40.0), 0.0, level_m=5.0)
    np.testing.assert_array_equal(found.level_m, 5.0)


def test_chow_s_backwater_table():
    # Chow (1959) Table 10-4 (from memory): b = 20 ft, z = 2, S0 = 0.0016, n = 0.025,
    # 400 cfs, alpha = 1.10, 5 ft deep at the dam. Read by slide rule, so 0.5 % down
    # to 3.6 ft and 2.5 % near the asymptote at 3.4 ft.
    away_m = np.arange(0, 900.0, 2.0)
    sections = [
        Trapezoid(bed_m=0.0016 * far, bottom_m=20 * FOOT_M, side=2, roughness=0.025)
        for far in away_m[::-1]
    ]
    found = standard_step(
        sections, away_m, 400 * CFS_M3_S, level_m=5 * FOOT_M, alpha=1.10
    )
    depth_ft = (found.level_m[::-1] - 0.0016 * away_m) / FOOT_M
    for y, x, within in [
        (4.80, 155, 0.005),
        (4.40, 491, 0.005),
        (4.00, 891, 0.005),
        (3.70, 1304, 0.005),
        (3.60, 1500, 0.005),
        (3.40, 2375, 0.025),
    ]:
        reached = np.interp(-y, -depth_ft, away_m / FOOT_M)
        assert reached == pytest.approx(x, rel=within)


def test_chow_s_normal_and_critical_depths():
    # Chow (1959) ch. 10 (from memory): 3.36 ft and, with alpha 1.10, 2.22 ft.
    canal = Trapezoid(bed_m=0, bottom_m=20 * FOOT_M, side=2, roughness=0.025)
    flow = 400 * CFS_M3_S
    assert normal_level(canal, flow, 0.0016) / FOOT_M == pytest.approx(3.36, abs=6e-3)
    critical = critical_level(canal, flow, alpha=1.10) / FOOT_M
    assert critical == pytest.approx(2.22, abs=9e-3)


def test_backwater_in_a_wide_channel():
    # Cruise, Sherif and Singh, Elementary Hydraulics, Pr. 15.1: 2.174 m, by one long
    # step, 500 m above a dam with 2.7 m; 0.5 % for that step.
    away_m = np.arange(0, 501.0, 10.0)
    sections = [wide(0.0014 * far, 0.025) for far in away_m[::-1]]
    found = standard_step(sections, away_m, 3.6, level_m=2.7)
    assert found.level_m[0] - 0.0014 * 500 == pytest.approx(2.174, rel=5e-3)
    assert normal_level(wide(0, 0.025), 3.6, 0.0014) == pytest.approx(1.69, abs=5e-3)


def test_upstream_of_a_long_backwater_the_depth_is_normal():
    away_m = np.arange(0, 20_000.0, 20.0)
    sections = [wide(0.001 * far, 0.03) for far in away_m[::-1]]
    found = standard_step(sections, away_m, 2.0, level_m=2.5)
    # (q n / S^(1/2))^(3/5)
    expected = (2 * 0.03 / 0.001**0.5) ** 0.6
    assert found.level_m[0] - 0.001 * away_m[-1] == pytest.approx(expected, rel=1e-6)


def test_a_level_below_critical_is_raised_to_it_and_marked():
    sections = [wide(0.0, 0.03), wide(0.0, 0.03)]
    found = standard_step(sections, np.array([0.0, 10.0]), 3.6, level_m=0.5)
    assert found.level_m[-1] == pytest.approx((3.6**2 / G) ** (1 / 3), rel=1e-9)
    assert found.critical[-1]


def test_a_steep_step_is_held_at_critical_depth_and_marked():
    sections = [wide(2.0, 0.03), wide(2.0, 0.03), wide(0.0, 0.03)]
    found = standard_step(sections, np.array([0.0, 5.0, 10.0]), 1.0, level_m=1.0)
    assert found.critical.tolist() == [False, True, False]
    assert found.level_m[1] == pytest.approx(2 + (1 / G) ** (1 / 3), rel=1e-9)


def test_chainages_that_do_not_grow_are_refused():
    with pytest.raises(LayerError, match="2 sections at 2 chainages"):
        standard_step([wide(0, 0.03)] * 2, np.array([5.0, 5.0]), 1.0, level_m=1.0)
