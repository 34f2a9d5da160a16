"""What counts as measured, and what is said of a level beyond it."""

from __future__ import annotations

from types import SimpleNamespace

import pandas as pd
import pytest

from layers.measured import MeasuredLevels, beyond_measured


def survey_of(*, soundings=None, speeds=None, flows=None, normal_m=0.6):
    def table(levels):
        return None if levels is None else pd.DataFrame({"level_m": levels})

    return SimpleNamespace(
        river=SimpleNamespace(gauge=SimpleNamespace(level_m=normal_m)),
        soundings=table(soundings),
        speeds=table(speeds),
        flows=table(flows),
    )


def test_depth_and_pace_are_told_apart():
    found = MeasuredLevels.of(survey_of(soundings=[0.7], speeds=[0.5], flows=[1.1]))
    assert found == MeasuredLevels(depth_m=(0.6, 0.7), pace_m=(0.5, 1.1))
    assert found.all_m == (0.5, 1.1)


def test_a_float_without_a_level_was_timed_at_the_normal_one():
    found = MeasuredLevels.of(survey_of(speeds=[float("nan"), 0.9]))
    assert found.pace_m == (0.6, 0.9)


def test_without_floats_or_gaugings_only_depth_is_known():
    assert MeasuredLevels.of(survey_of()).pace_m is None


@pytest.mark.parametrize(
    ("level_m", "said"),
    [
        (0.9, "above every level at which pace was gauged or timed here (0.60 to 0.70"),
        (0.5, "below every level at which pace was gauged or timed here (0.60 to 0.70"),
        (1.2, "above every level measured here (0.40 to 1.00 m)"),
        (0.2, "below every level measured here (0.40 to 1.00 m)"),
    ],
)
def test_what_lies_beyond_is_told_with_what_it_lies_beyond(level_m, said):
    measured = MeasuredLevels(depth_m=(0.4, 1.0), pace_m=(0.6, 0.7))
    assert said in beyond_measured(level_m, measured)


@pytest.mark.parametrize("level_m", [0.55, 0.6, 0.7, 0.75])
def test_within_a_boards_ripple_nothing_is_said(level_m):
    measured = MeasuredLevels(depth_m=(0.4, 1.0), pace_m=(0.6, 0.7))
    assert beyond_measured(level_m, measured) == ""


def test_only_high_water_is_called_dangerous():
    measured = MeasuredLevels(depth_m=(0.4, 1.0))
    assert "dangerous" in beyond_measured(1.5, measured)
    assert "dangerous" not in beyond_measured(0.1, measured)


def test_a_level_that_is_no_number_never_passes_as_measured():
    assert beyond_measured(float("nan"), MeasuredLevels(depth_m=(0.4, 1.0)))
