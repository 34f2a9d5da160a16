"""Plain words that never belie their numbers."""

from __future__ import annotations

import pytest

from pegscore.reasons import explain
from pegscore.species import read_species

BARBEL = read_species()["barbel"]
NAN = float("nan")


def water(**changes) -> dict:
    row = {
        "depth_m": 1.5,
        "depth_p10_m": 1.2,
        "depth_p90_m": 1.8,
        "speed_m_s": 0.5,
        "speed_p10_m_s": 0.4,
        "speed_p90_m_s": 0.6,
        "silt_share": 0.1,
        "gravel_share": 0.9,
        "suit_depth": 1.0,
        "suit_speed": 1.0,
        "suit_substrate": 0.96,
    }
    return {**row, **changes}


def test_good_water_has_only_reasons_for_it():
    told = explain(BARBEL, water())
    assert told.limiting == ""
    assert told.cons == ()
    assert "gravel 90 %" in told.why


@pytest.mark.parametrize(
    ("changes", "limiting", "words"),
    [
        ({"depth_m": 0.4, "suit_depth": 0.5}, "depth", "shallower than the preferred"),
        ({"depth_m": 5.0, "suit_depth": 0.6}, "depth", "deeper than the preferred"),
        ({"speed_m_s": 0.1, "suit_speed": 0.3}, "pace", "slower than the preferred"),
        ({"speed_m_s": 1.2, "suit_speed": 0.5}, "pace", "faster than the preferred"),
        (
            {"silt_share": 0.8, "gravel_share": 0.2, "suit_substrate": 0.27},
            "bottom",
            "silt",
        ),
    ],
)
def test_the_smallest_factor_is_named_and_told_against(changes, limiting, words):
    told = explain(BARBEL, water(**changes))
    assert told.limiting == limiting
    assert words in told.cons[0]
    assert f"Held back most by {limiting}" in told.why


def test_the_worst_is_told_first():
    told = explain(BARBEL, water(suit_depth=0.6, suit_speed=0.2))
    assert told.cons[0].startswith("pace")
    assert told.cons[1].startswith("depth")


def test_an_unsurveyed_bottom_is_said_not_guessed():
    told = explain(BARBEL, water(suit_substrate=NAN, gravel_share=NAN, silt_share=NAN))
    assert "Bottom not surveyed: it could be better or worse." in told.why
    assert "%" not in told.why


def test_a_mean_at_the_edge_as_shown_is_within():
    """0.398 m/s is read as 0.40, the lower end of the preferred range."""
    assert "within the preferred" in explain(BARBEL, water(speed_m_s=0.398)).why


def test_two_bottoms_are_named_when_neither_is_most():
    told = explain(BARBEL, water(silt_share=0.35, gravel_share=0.4, sand_share=0.25))
    assert "gravel 40 % and silt 35 %" in told.why


def test_imperial_readers_get_feet():
    told = explain(BARBEL, water(depth_m=1.524), units="imperial")
    assert "depth 5.0 ft" in told.why
    assert " m " not in told.why
    assert "m/s" not in told.why
