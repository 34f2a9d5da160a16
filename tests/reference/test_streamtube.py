"""The streamtube march against waters whose flow is known exactly."""

from __future__ import annotations

import numpy as np
import pytest

from layers.streamtube import Bed, march


def channel(*, sections, step_m, depth_m=1.7, n=0.033, curvature=0.0, width_m=60):
    offset_m = np.arange(-width_m / 2 + 0.5, width_m / 2)
    shape = sections, offset_m.size
    return Bed(
        offset_m=offset_m,
        strip_m=np.ones(shape),
        step_m=step_m,
        curvature=np.broadcast_to(curvature, sections).astype(float),
        depth_m=np.broadcast_to(depth_m, shape).astype(float),
        roughness=np.broadcast_to(n, shape).astype(float),
    )


def test_without_friction_a_bend_becomes_a_free_vortex():
    # A closed form: u (1 - n kappa) is the same everywhere, whatever the sign.
    curvature = np.where(np.arange(60) < 10, 0.0, 1 / 150)
    bed = channel(sections=60, step_m=4, n=1e-9, curvature=curvature)
    speed = march(bed, sweeps=12, own_bends=False).unit_speed[-1]
    ratio = np.interp(25.5, bed.offset_m, speed) / np.interp(-25.5, bed.offset_m, speed)
    # Strips of 1 m stand for the integral across.
    assert ratio == pytest.approx(1.409639, rel=1e-3)


def test_a_bend_to_the_right_mirrors_one_to_the_left():
    left = march(channel(sections=30, step_m=4, curvature=1 / 150)).unit_speed
    right = march(channel(sections=30, step_m=4, curvature=-1 / 150)).unit_speed
    np.testing.assert_allclose(left, right[:, ::-1], rtol=1e-9)  # rounding


@pytest.mark.parametrize("step_m", [8, 4, 2])
def test_speed_relaxes_over_the_length_that_friction_gives(step_m):
    # h^(4/3) / (2 g n^2) = 94.96 m; an implicit step answers half a step late.
    rough = np.full((400, 60), 0.033)
    rough[0, 30:] = 0.036
    bed = channel(sections=400, step_m=step_m, n=rough)
    speed = march(bed, own_bends=False).unit_speed
    gap = speed[:, 5] ** 2 - speed[:, 55] ** 2
    away_m = np.arange(400) * step_m
    near = (away_m > 0) & (away_m < 200)
    length_m = -1 / np.polyfit(away_m[near], np.log(gap[near]), 1)[0]
    assert length_m == pytest.approx(94.96 + step_m / 2, rel=2e-3)


def test_every_section_carries_the_flow_exactly():
    draw = np.random.default_rng(4)
    depth_m = draw.uniform(0.3, 3.0, (50, 60))
    bed = channel(sections=50, step_m=4, depth_m=depth_m, curvature=1 / 200)
    carried = (march(bed).unit_speed * depth_m).sum(axis=1)
    np.testing.assert_allclose(carried, 1.0, rtol=1e-9)


def test_a_straight_even_channel_keeps_to_conveyance():
    across = 1.5 - np.linspace(-1, 1, 60) ** 2
    bed = channel(sections=40, step_m=4, depth_m=across)
    found = march(bed)
    expected = across ** (2 / 3) / (across ** (5 / 3)).sum()
    np.testing.assert_allclose(found.unit_speed, np.tile(expected, (40, 1)), rtol=1e-9)
    # Manning: the fall is (Q / K)^2 a metre.
    carried = (across ** (5 / 3)).sum() / 0.033
    np.testing.assert_allclose(found.unit_fall[1:], 4 / carried**2, rtol=1e-9)


def test_an_island_in_the_middle_is_passed_alike_on_both_sides():
    depth_m = np.full((60, 60), 1.5)
    depth_m[20:40, 25:35] = 0.0
    speed = march(channel(sections=60, step_m=4, depth_m=depth_m)).unit_speed
    np.testing.assert_allclose(speed, speed[:, ::-1], rtol=1e-9)  # rounding
    assert np.all(speed[25, 25:35] == 0)


def test_water_that_leads_nowhere_stands_still():
    depth_m = np.full((60, 60), 1.5)
    depth_m[20:40, 40] = 0.0  # a spit, joined to the bank downstream
    depth_m[40, 40:] = 0.0
    found = march(channel(sections=60, step_m=4, depth_m=depth_m))
    assert np.all(found.unit_speed[21:40, 41:] == 0)
    assert np.all(found.dead_end[21:40, 41:])
    np.testing.assert_allclose((found.unit_speed * depth_m).sum(axis=1), 1.0, rtol=1e-9)
