"""The correction by dense measurements, on misfits whose pattern is given."""

from __future__ import annotations

import numpy as np
import pytest

from layers.residual import Places, correct


def places(count, seed):
    draw = np.random.default_rng(seed)
    return Places(
        chainage_m=draw.uniform(0, 400, count), offset_m=draw.uniform(-15, 15, count)
    )


def pattern(at):
    """Return a misfit of 20 % that changes over some tens of metres."""
    return 0.3 * np.sin(at.chainage_m / 30) * np.cos(at.offset_m / 8)


def test_a_smooth_misfit_is_carried_to_places_between():
    measured, cells = places(150, 1), places(200, 2)
    draw = np.random.default_rng(3)
    noisy = pattern(measured) + draw.normal(0, 0.05, 150)
    found = correct(noisy, measured, cells, width_m=30.0)
    missed = np.log(found.factor) - pattern(cells)
    assert np.sqrt(np.mean(missed**2)) < 0.6 * np.sqrt(np.mean(pattern(cells) ** 2))
    assert np.all(found.doubt <= 1.0)


def test_far_from_measurements_nothing_is_corrected():
    measured = places(150, 1)
    far = Places(chainage_m=np.array([5000.0]), offset_m=np.array([0.0]))
    found = correct(pattern(measured), measured, far, width_m=30.0)
    assert found.factor[0] == pytest.approx(1.0, abs=1e-12)
    assert found.doubt[0] == 1.0


def test_noise_earns_no_correction():
    noise = np.random.default_rng(4).normal(0, 0.2, 150)
    assert correct(noise, places(150, 1), places(9, 2), width_m=30.0) is None


def test_few_measurements_earn_none():
    few = places(29, 1)
    assert correct(pattern(few), few, places(9, 2), width_m=30.0) is None
