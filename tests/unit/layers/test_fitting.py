"""Fitting the roughness pattern to measured speeds whose answer is given."""

from __future__ import annotations

import numpy as np
import pytest

from layers.fitting import fit_pattern

SHARES = {"sand": np.array([1.0, 0.0]), "gravel": np.array([0.0, 1.0])}
COUNT = 60


def trial(rougher, noise_sd=0.0, wild=0):
    """Return a misfit in which gravel is rougher than thought by a factor."""
    draw = np.random.default_rng(5)
    on_gravel = np.arange(COUNT) % 2 == 1
    noise = draw.normal(0, noise_sd, COUNT)
    noise[:wild] += 1.5

    def misfit(factors, *, quick):
        del quick
        n = np.where(on_gravel, factors["gravel"], factors["sand"])
        return np.log(n) - np.where(on_gravel, np.log(rougher), 0.0) + noise

    return misfit


def ratio(pattern):
    return pattern.factors["gravel"] / pattern.factors["sand"]


def test_a_rougher_class_is_found():
    found = fit_pattern(SHARES, trial(1.5, 0.05), np.arange(COUNT) * 10.0)
    # 30 measurements a class with 5 %: the prior draws in a few per cent.
    assert ratio(found) == pytest.approx(1.5, rel=0.06)
    assert found.error_after < 0.08 < found.error_before
    assert "gravel x" in found.note[0]


def test_wild_measurements_hardly_move_it():
    found = fit_pattern(SHARES, trial(1.5, 0.05, wild=5), np.arange(COUNT) * 10.0)
    assert ratio(found) == pytest.approx(1.5, rel=0.12)


def test_a_pattern_that_is_not_there_is_not_kept():
    found = fit_pattern(SHARES, trial(1.0, 0.10), np.arange(COUNT) * 10.0)
    assert found.factors == {}
    assert "kept as by default" in found.note[0]


def test_few_measurements_fit_nothing():
    found = fit_pattern(SHARES, trial(1.5), np.arange(11) * 10.0)
    assert found.factors == {}
    assert found.note == ()
