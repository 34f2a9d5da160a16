"""What the club measured errs as it is said to err, and no more."""

from __future__ import annotations

import numpy as np
import pytest

WORDS = {"silt", "clay", "sand", "gravel", "cobble", "boulder", "bedrock"}


@pytest.mark.parametrize("pattern", ["cross_lines", "zigzag", "random"])
def test_soundings_err_by_the_stated_depth(script, truth, rng, pattern):
    found = script.take_soundings(
        truth, rng, pattern, noise_m=0.05, position_m=0, spike_share=0
    )
    s, n = truth.to_channel(found["x"], found["y"])
    error = found["depth_m"] - truth.depth_m(s, n)
    count = len(found)
    # four standard errors of a mean and of a standard deviation; the slopes of
    # the bed times the rounding of the coordinates add under 0.01 m
    assert abs(error.mean()) < 4 * 0.05 / np.sqrt(count) + 0.002
    assert error.std() == pytest.approx(0.05, abs=4 * 0.05 / np.sqrt(2 * count) + 0.002)


def test_soundings_err_by_the_stated_distance(script, truth):
    same = {"noise_m": 0, "spike_share": 0}
    exact, found = (
        script.take_soundings(truth, np.random.default_rng(5), position_m=sd, **same)
        for sd in (0.0, 0.5)
    )
    for axis in ("x", "y"):
        off = found[axis] - exact[axis]
        allowed = 4 * 0.5 / np.sqrt(2 * len(off))
        assert off.std() == pytest.approx(0.5, abs=allowed)


def test_a_false_echo_is_far_out(script, truth, rng):
    found = script.take_soundings(truth, rng, noise_m=0, position_m=0, spike_share=0.1)
    s, n = truth.to_channel(found["x"], found["y"])
    error = np.abs(found["depth_m"] - truth.depth_m(s, n))
    false = error > 0.4
    assert error[false].min() > 0.8
    assert error[~false].max() < 0.03  # rounding of depth and place only
    count = len(found)
    assert false.mean() == pytest.approx(0.1, abs=4 * np.sqrt(0.09 / count))


def test_soundings_were_taken_at_two_levels_and_hold_a_few_spikes(truth, tables):
    found = tables["soundings"]
    assert 900 <= len(found) <= 1300
    assert set(found["level_m"]) == {0.60, 0.74}
    s, n = truth.to_channel(found["x"], found["y"])
    error = found["depth_m"] - [
        float(truth.depth_m(*place))
        for place in zip(s, n, found["level_m"], strict=True)
    ]
    assert 2 <= (error.abs() > 0.7).sum() <= 12


def test_the_grabs_name_the_bottom_that_is_there(truth, tables):
    bed = tables["bed"]
    assert len(bed) == 150
    assert set(bed["substrate"]) <= WORDS
    s, n = truth.to_channel(bed["x"], bed["y"])
    shares = truth.substrate_shares(s, n)
    at_hand = [shares[word][i] for i, word in enumerate(bed["substrate"])]
    assert np.mean(at_hand) > 2 / 5  # twice what a guess among five would give


def test_floats_run_at_the_surface_speed(truth, tables):
    runs = tables["speeds"].dropna(subset="seconds")
    assert len(runs) == 36
    start = truth.to_channel(runs["x"], runs["y"])
    end = truth.to_channel(runs["x2"], runs["y2"])
    along = np.linspace(0, 1, 30)[:, None]
    s, n = (a + along * (b - a) for a, b in zip(start, end, strict=True))
    mean = 1 / (1 / truth.speed_m_s(s, n)).mean(axis=0)
    length = np.hypot(runs["x2"] - runs["x"], runs["y2"] - runs["y"])
    factor = mean / (length / runs["seconds"])
    # 0.02 of scatter in the factor and half a second in about thirty
    assert np.median(factor) == pytest.approx(0.85, abs=0.02)
    assert set(runs["level_m"]) == {0.60}


def test_the_meter_reads_the_mean_in_raised_water(truth, tables):
    points = tables["speeds"].dropna(subset="speed_ms")
    assert len(points) == 14
    s, n = truth.to_channel(points["x"], points["y"])
    ratio = points["speed_ms"] / truth.speed_m_s(s, n, 0.95)
    # 7/6 * 0.4 ** (1/6) = 1.0014; 4 per cent a reading, fourteen readings
    assert ratio.mean() == pytest.approx(1.0014, abs=4 * 0.04 / np.sqrt(14))


def test_gaugings_scatter_round_the_rating(tables):
    flows = tables["flows"]
    assert len(flows) == 5
    rating = 16.0 * (flows["level_m"] + 0.35) ** 1.7
    assert (
        np.abs(flows["flow_m3s"] / rating - 1) < 0.16
    ).all()  # four times 4 per cent
