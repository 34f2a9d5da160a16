"""A level is called measured only where somebody measured something."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from pegscore.levels import level_caution, level_cautions


def survey_of(*, soundings=(), speeds=None, flows=None, normal_m=0.6):
    """Only what a level is judged by."""

    def table(levels):
        return None if levels is None else pd.DataFrame({"level_m": levels})

    return SimpleNamespace(
        river=SimpleNamespace(gauge=SimpleNamespace(level_m=normal_m)),
        soundings=table(soundings),
        speeds=table(speeds),
        flows=table(flows),
    )


def test_soundings_speeds_gaugings_and_the_normal_level_all_count():
    survey = survey_of(soundings=[0.5, 0.7], speeds=[0.4], flows=[1.1, 0.9])
    assert "(0.40 to 1.10 m)" in level_caution(survey, 2.0)


def test_the_normal_level_alone_counts():
    assert level_caution(survey_of(), 0.6) == ""
    assert "(0.60 to 0.60 m)" in level_caution(survey_of(), 0.7)


def test_an_unknown_level_is_no_measurement():
    survey = survey_of(soundings=[np.nan, 0.7])
    assert "(0.60 to 0.70 m)" in level_caution(survey, 0.2)


def test_of_several_levels_only_those_beyond_are_told():
    survey = survey_of(soundings=[0.5, 0.7])
    told = level_cautions(survey, [0.2, 0.6, 1.5])
    assert told == {level: level_caution(survey, level) for level in (0.2, 1.5)}


@pytest.mark.parametrize("level_m", [0.5, 0.6, 0.7, 0.74, 0.46])
def test_a_level_within_or_near_what_was_measured_needs_no_caution(level_m):
    assert level_caution(survey_of(soundings=[0.5, 0.7]), level_m) == ""


def test_high_water_is_told_with_both_numbers_and_the_danger():
    told = level_caution(survey_of(soundings=[0.5, 0.7]), 1.5)
    assert "1.50 m is above every level measured here (0.50 to 0.70 m)" in told
    assert "dangerous" in told


def test_low_water_is_told_without_the_danger_of_high_water():
    told = level_caution(survey_of(soundings=[0.5, 0.7]), 0.2)
    assert "0.20 m is below every level measured here" in told
    assert "dangerous" not in told


def test_a_level_that_is_no_number_never_passes_as_measured():
    assert level_caution(survey_of(soundings=[0.5, 0.7]), float("nan")) != ""
