"""The settled plane against waters whose flow is known exactly."""

from __future__ import annotations

import numpy as np
import pytest

from layers.plane import MIXING, Plane
from layers.planeflow import settled_flow
from layers.streamtube import Bed, march

GRAVITY_M_S2 = 9.81


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


def settled(bed):
    found = settled_flow(bed, march(bed))
    assert found is not None
    return found


@pytest.mark.slow
def test_without_friction_a_bend_becomes_a_free_vortex():
    # A closed form: u (1 - n kappa) is the same everywhere.
    curvature = np.where(np.arange(50) < 12, 0.0, 1 / 150)
    bed = channel(sections=50, step_m=4, n=1e-9, curvature=curvature)
    along, _ = settled(bed)
    speed = along[40]
    ratio = np.interp(25.5, bed.offset_m, speed) / np.interp(-25.5, bed.offset_m, speed)
    # Strips of 1 m stand for the integral across.
    assert ratio == pytest.approx(1.409639, rel=2e-3)


@pytest.mark.slow
def test_a_bend_to_the_right_mirrors_one_to_the_left():
    left, across = settled(channel(sections=30, step_m=4, curvature=1 / 150))
    right, against = settled(channel(sections=30, step_m=4, curvature=-1 / 150))
    # Newton's steps end when no value moves by 2e-4 of the flow.
    np.testing.assert_allclose(left, right[:, ::-1], rtol=1e-4)
    np.testing.assert_allclose(across, -against[:, ::-1], atol=1e-4 * left.max())


@pytest.mark.slow
def test_the_flow_is_kept_and_an_island_is_passed_alike_on_both_sides():
    depth_m = np.full((60, 30), 1.5)
    depth_m[20:40, 12:18] = 0.0
    bed = channel(sections=60, step_m=4, depth_m=depth_m, width_m=30)
    along, across = settled(bed)
    np.testing.assert_allclose(along, along[:, ::-1], atol=1e-4 * along.max())
    np.testing.assert_allclose(across, -across[:, ::-1], atol=1e-4 * along.max())
    assert np.all(along[25, 12:18] == 0)
    # What seeps through the island is all that is missing.
    np.testing.assert_allclose((along * depth_m).sum(axis=1), 1.0, rtol=1e-4)


@pytest.mark.slow
def test_branches_round_an_island_share_the_flow_so_that_both_fall_alike():
    # Long branches 1.0 and 2.0 m deep: shares as h^(5/3), but for their ends.
    depth_m = np.full((80, 30), 1.5)
    depth_m[15:65, :12], depth_m[15:65, 12:18], depth_m[15:65, 18:] = 1.0, 0.0, 2.0
    bed = channel(sections=80, step_m=16, depth_m=depth_m, n=0.04, width_m=30)
    passing = settled(bed)[0][40] * depth_m[40]
    ratio = passing[18:].sum() / passing[:12].sum()
    # 800 m of friction against a velocity head or so at either end.
    assert ratio == pytest.approx(2 ** (5 / 3), rel=0.05)


@pytest.mark.slow
def test_across_a_change_of_roughness_speed_mixes_as_the_closed_form_has_it():
    # Shiono and Knight (1991) for even depth, from memory: W = u^2 relaxes as
    # exp(-gamma y), gamma = sqrt(2 / lambda) (f / 8)^(1/4) / h, to 8 g S h / f; W and
    # lambda h^2 sqrt(f/8) dW/dy / 2 are the same on both sides of the change.
    depth_m, rough = 1.5, np.where(np.arange(36) < 18, 0.03, 0.05)
    bed = channel(sections=80, step_m=20, depth_m=depth_m, n=rough, width_m=36)
    along, _ = settled(bed)
    drag = GRAVITY_M_S2 * np.array([0.03, 0.05]) ** 2 / depth_m ** (1 / 3)  # f / 8
    far = 1 / drag
    gamma = np.sqrt(2 / MIXING) * drag**0.25 / depth_m
    pull = np.sqrt(drag) * gamma
    middle = (far * pull).sum() / pull.sum()
    y = np.abs(bed.offset_m)
    side = np.where(bed.offset_m < 0, 0, 1)
    w = far[side] + (middle - far[side]) * np.exp(-gamma[side] * y)
    expected = np.sqrt(w) / (np.sqrt(w) * depth_m).sum()
    # 1 m strips against a change over some 2 m.
    np.testing.assert_allclose(along[75], expected, rtol=0.02)
    assert np.abs(along[75] / expected - 1)[np.abs(bed.offset_m) > 5].max() < 2e-3


def test_the_balance_is_zero_for_even_flow():
    bed = channel(sections=12, step_m=4)
    stream = np.tile(np.linspace(0, 1, 61), (12, 1))
    missing, _ = Plane(bed=bed).balance(stream)
    np.testing.assert_allclose(missing, 0.0, atol=1e-12)
