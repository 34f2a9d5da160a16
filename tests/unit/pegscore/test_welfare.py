"""Thin oxygen, flood and values that cannot be meant."""

from __future__ import annotations

import dataclasses
import math

import pytest

from pegscore.conditions import Conditions, verdict
from pegscore.errors import PegError
from pegscore.species import read_species

SPECIES = read_species()


def told(name: str, **known):
    return verdict(SPECIES[name], Conditions(level_m=0.6, **known), None)


@pytest.mark.parametrize(
    ("name", "mg_l", "vetoed"),
    [
        ("brown_trout", 5.9, True),  # stress below 6 (weak vendor page, seen)
        ("brown_trout", 6.0, False),
        ("barbel", 4.9, True),  # stress below 5 (from memory)
        ("barbel", 5.0, False),
        ("roach", 3.9, True),  # stress below 4 (from memory)
        ("roach", 4.0, False),
        ("carp", 2.9, True),  # most fish die below 3 (seen), carp's own stress is 3
        ("carp", 3.0, False),
    ],
)
def test_low_oxygen_is_a_veto_below_what_the_fish_can_bear(name, mg_l, vetoed):
    answer = told(name, oxygen_mg_l=mg_l)
    assert bool(answer.vetoes) is vetoed
    if vetoed:
        assert f"oxygen measured at {mg_l:g} mg/l" in answer.vetoes[0]
        assert "leave the fish alone" in answer.vetoes[0]


def test_measured_oxygen_is_set_against_saturation():
    """At 20 °C the table prints 9.09 mg/l: 6 is 66 % of it."""
    notes = told("roach", oxygen_mg_l=6.0, water_temp_c=20.0).notes
    assert any("66 % of what" in note and "9.1 mg/l" in note for note in notes)
    assert any("6 mg/l." in note for note in told("roach", oxygen_mg_l=6.0).notes)


def test_warm_water_that_cannot_hold_enough_is_told_unmeasured():
    """A trout does best from 9 mg/l; the table prints 8.42 at 24 °C and 10.08 at 15."""
    warm = " ".join(told("brown_trout", water_temp_c=24.0).notes)
    assert "only 8.4 mg/l" in warm
    assert "not measured here" in warm
    assert "mg/l" not in " ".join(told("brown_trout", water_temp_c=15.0).notes)


def test_a_fish_of_unknown_needs_has_no_oxygen_factor():

    stranger = dataclasses.replace(SPECIES["roach"], oxygen="")
    answer = verdict(stranger, Conditions(level_m=0.6, oxygen_mg_l=8.0), None)
    assert answer.day_factor == 1.0
    assert not answer.vetoes


@pytest.mark.parametrize(
    ("above_m", "flood"), [(0.0, False), (0.5, False), (0.51, True)]
)
def test_a_board_far_above_all_that_was_measured_is_a_flood(above_m, flood):
    answer = told("chub", above_measured_m=above_m)
    assert any("flood" in veto for veto in answer.vetoes) is flood


def test_a_veto_leaves_the_other_factors_alone():
    answer = told("barbel", water_temp_c=25.0, oxygen_mg_l=7.0)
    assert len(answer.vetoes) == 1
    assert math.isnan(answer.temperature_factor)


@pytest.mark.parametrize(
    ("known", "said"),
    [
        ({"oxygen_mg_l": 90.0}, "not per cent"),
        ({"oxygen_mg_l": -1.0}, "oxygen of -1.0"),
        ({"wind_m_s": 75.0}, "wind of 75.0 m/s"),
        ({"clarity": "muddy"}, "clarity 'muddy'"),
    ],
)
def test_values_that_cannot_be_meant_are_refused(known, said):
    with pytest.raises(PegError, match=said):
        Conditions(level_m=0.6, **known)
