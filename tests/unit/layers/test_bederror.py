"""An error learnt from errors of a known size."""

import numpy as np
import pytest

from layers.bederror import FALLBACK_SD_M, BedError, LeftOut, isolation


def seen(errors_m, distance_m, *, overhang_m=0.0, noise_m=0.0, places=None):
    count = len(errors_m)
    if places is None:
        places = np.column_stack([np.arange(count) * 1.0, np.zeros(count)])
    return LeftOut(
        places=places,
        errors_m=errors_m,
        distance_m=np.broadcast_to(distance_m, count).astype(float),
        overhang_m=np.broadcast_to(overhang_m, count).astype(float),
        noise_m=np.broadcast_to(noise_m, count).astype(float),
    )


def test_an_error_that_grows_with_distance_is_found_again(rng):
    distance_m = rng.uniform(0.2, 4, 6000)
    learnt = BedError(seen(rng.normal(0, 0.1 * distance_m), distance_m))
    for far_m in (1.0, 2.0, 3.0):
        # classes of an eighth of 6000 errors: 3 % by sampling, as much by their width
        found = float(learnt.typical_m(np.array([far_m]))[0])
        assert found == pytest.approx(0.1 * far_m, rel=0.1)


def test_the_soundings_own_noise_is_not_the_beds_error(rng):
    errors_m = rng.normal(0, np.hypot(0.3, 0.4), 4000)
    learnt = BedError(seen(errors_m, 2.0, noise_m=0.4))
    assert float(learnt.typical_m(np.array([2.0]))[0]) == pytest.approx(0.3, rel=0.15)


def test_the_interval_holds_four_in_five_also_of_long_tailed_errors(rng):
    draw, distance_m = 0.1 * rng.standard_t(3, 8000), rng.uniform(0.5, 2, 8000)
    learnt = BedError(seen(draw[:4000], distance_m[:4000]))
    spread_m = learnt.typical_m(distance_m[4000:])
    held = np.mean(np.abs(draw[4000:]) < 1.2816 * spread_m)
    assert held == pytest.approx(0.80, abs=0.03)  # two samples of 4000


def test_a_rough_stretch_has_a_larger_error_than_a_smooth_one(rng):
    rough = np.arange(600) < 300
    errors_m = rng.normal(0, np.where(rough, 0.4, 0.05))
    learnt = BedError(seen(errors_m, 1.0))
    at = np.array([[150.0, 0.0], [450.0, 0.0]])
    there = learnt.at(at, np.ones(2), np.zeros(2))
    assert there[0] > 1.3 * there[1]  # drawn towards 1: eight times is not claimed


def test_beyond_the_last_sounding_the_error_grows_with_the_overhang(rng):
    within = seen(rng.normal(0, 0.05, 400), 1.0)
    over_m = rng.uniform(1, 3, 400)
    beyond = seen(rng.normal(0, 0.5 * over_m), 1.0, overhang_m=over_m)
    learnt = BedError(LeftOut.of([within, beyond]))
    at = np.array([[100.0, 0.0]])
    near = learnt.at(at, np.ones(1), np.zeros(1))
    far = learnt.at(at, np.ones(1), np.full(1, 2.0))
    assert far[0] == pytest.approx(np.hypot(near[0], 0.5 * 2.0), rel=0.15)


def test_with_nothing_to_learn_from_the_error_is_large():
    learnt = BedError(seen(np.empty(0), 1.0))
    assert learnt.at(np.zeros((1, 2)), np.ones(1), np.zeros(1)) == FALLBACK_SD_M


def test_isolation_is_distance_and_what_juts_out_across():
    known = np.array([[0.0, -3.0], [0.0, 0.0], [0.0, 3.0]])
    distance_m, overhang_m = isolation(known, np.array([[2.0, 0.0], [0.0, -7.0]]))
    assert distance_m.tolist() == [2.0, 4.0]
    assert overhang_m.tolist() == [0.0, 4.0]
