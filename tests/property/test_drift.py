"""What must always be so of drifting feed, and of a sheet whatever the water is."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegscore.drift import Stream, landing_m, throw_m
from pegscore.swim import SwimWishes, panel_record, sheet_record, swim_sheet
from pegscore.swim_words import sheet_text
from tests.swim_world import LEVEL_M, make_run

POINTS = 41
WATER = st.tuples(
    st.lists(st.floats(0.3, 4.0), min_size=POINTS, max_size=POINTS),
    st.lists(st.floats(0.05, 1.5), min_size=POINTS, max_size=POINTS),
)


def stream_of(water) -> Stream:
    depth_m, speed_m_s = (np.array(values) for values in water)
    return Stream(along_m=np.arange(41.0), depth_m=depth_m, speed_m_s=speed_m_s)


@given(water=WATER, thrown_m=st.floats(0.5, 20.0), settling_m_s=st.floats(0.02, 0.8))
def test_the_inverse_undoes_the_drift(water, thrown_m, settling_m_s):
    stream = stream_of(water)
    landed = landing_m(stream, thrown_m, settling_m_s)
    if np.isfinite(landed):
        # both are read off one running sum; a rounding of it is left
        assert throw_m(stream, landed, settling_m_s) == pytest.approx(
            thrown_m, abs=1e-6
        )


@given(water=WATER, settling_m_s=st.floats(0.05, 0.8))
def test_feed_lands_downstream_and_slower_feed_further(water, settling_m_s):
    stream = stream_of(water)
    fast, slow = landing_m(stream, 2.0, np.array([settling_m_s, settling_m_s / 1.5]))
    if np.isfinite(slow):
        assert 2.0 < fast < slow


@given(water=WATER, thrown_m=st.floats(0.0, 15.0), settling_m_s=st.floats(0.05, 0.8))
def test_feed_thrown_later_never_overtakes(water, thrown_m, settling_m_s):
    stream = stream_of(water)
    first, second = landing_m(stream, [thrown_m, thrown_m + 1.0], settling_m_s)
    if np.isfinite(second):
        assert first < second


@pytest.mark.slow
@settings(max_examples=15)
@given(
    seed=st.integers(0, 10_000),
    holes=st.floats(0.0, 1.0),
    throw=st.floats(-30.0, 60.0),
    out=st.floats(0.1, 40.0),
)
def test_no_water_however_patchy_breaks_a_sheet(
    tmp_path_factory, seed, holes, throw, out
):
    rng = np.random.default_rng(seed)

    def patchy(low, high):
        def values(down, _):
            found = rng.uniform(low, high, np.shape(down))
            found[rng.random(found.shape) < holes] = np.nan
            return found

        return values

    folder = tmp_path_factory.mktemp("patchy")
    run = make_run(folder, depth=patchy(0.01, 3.0), speed=patchy(-0.1, 1.5))
    wishes = SwimWishes(throw_m=throw, distance_out_m=out, species="chub")
    sheet = swim_sheet(run, "1", level_m=LEVEL_M, wishes=wishes)
    for units in ("metric", "imperial"):
        assert "nan" not in sheet_text(sheet, units=units)
    json.dumps([sheet_record(sheet), panel_record(sheet)], allow_nan=False)
