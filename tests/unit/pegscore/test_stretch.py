"""The best stretches of a straight river whose better end anybody can see."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from pegscore.conditions import Conditions
from pegscore.errors import PegError
from pegscore.stretch import best_stretches, best_windows

NORMAL = Conditions(level_m=0.6)


@given(
    st.lists(st.one_of(st.integers(0, 9), st.none()), max_size=25), st.integers(1, 5)
)
def test_the_best_window_is_the_best_of_all_that_can_be_tried(given_scores, size):
    scores = np.array([np.nan if s is None else float(s) for s in given_scores])
    means = [float(scores[i : i + size].mean()) for i in range(len(scores) - size + 1)]
    known = [mean for mean in means if not np.isnan(mean)]
    found = best_windows(scores, size, 3)
    assert bool(found) == bool(known)
    if known:
        assert found[0].mean == pytest.approx(max(known), abs=1e-12)
    taken = [place for window in found for place in range(window.start, window.end)]
    assert len(taken) == len(set(taken))
    assert all(
        not np.isnan(scores[window.start : window.end]).any() for window in found
    )
    assert [w.mean for w in found] == sorted((w.mean for w in found), reverse=True)


def test_the_deep_end_is_the_best_stretch_for_bream(bank_run):
    run = bank_run(
        depth_of=lambda east: np.where(east > 1120, 2.5, 0.8),
        seats=[(1050.0, 61.0), (1150.0, 61.0), (1150.0, 39.0)],
    )
    found = best_stretches(run, "bream", NORMAL, length_m=40.0, top=2)
    assert (found["from_m"] > 115).all()
    assert found["bank"].tolist() in (["left", "right"], ["left", "left"])
    assert (found["low"] <= found["score"]).all()
    assert (found["score"] <= found["high"]).all()
    assert found.geometry.length.between(36, 40).all()


def test_no_stretch_runs_through_a_no_fishing_area(bank_run):
    zone = ("no_fishing", box(1090, 30, 1110, 70))
    found = best_stretches(
        bank_run(places=[zone]), "chub", NORMAL, length_m=50.0, top=9
    )
    assert len(found) >= 2
    assert not ((found["to_m"] > 90) & (found["from_m"] < 110)).any()


def test_a_stretch_longer_than_any_is_refused(bank_run):
    with pytest.raises(PegError, match="no 500 m of bank"):
        best_stretches(bank_run(), "chub", NORMAL, length_m=500.0)
    with pytest.raises(PegError, match="a stretch of 0 m is none"):
        best_stretches(bank_run(), "chub", NORMAL, length_m=0.0)
