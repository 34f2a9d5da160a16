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
    assert any("gravel 90 %" in pro for pro in told.pros)


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


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"depth_m": 0.75, "suit_depth": 0.9}, "a little shallower than the preferred"),
        ({"speed_m_s": 0.95, "suit_speed": 0.9}, "a little faster than the preferred"),
    ],
)
def test_what_speaks_for_a_peg_is_only_a_little_off(changes, words):
    assert words in " ".join(explain(BARBEL, water(**changes)).pros)


def test_only_the_two_strongest_reasons_are_told():
    told = explain(BARBEL, water(suit_depth=1.0, suit_speed=0.99, suit_substrate=0.76))
    assert len(told.pros) == 3
    assert told.why.count(";") == 1
    assert "Held back most by bottom gravel 90 %." in told.why  # its number is not lost
    worse = explain(BARBEL, water(suit_depth=0.1, suit_speed=0.2, suit_substrate=0.3))
    assert worse.why.startswith("Against: depth 1.50 m")
    assert "; pace 0.50 m/s" in worse.why
    assert "bottom" not in worse.why


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
    assert any("gravel 40 % and silt 35 %" in pro for pro in told.pros)


def test_imperial_readers_get_feet():
    told = explain(BARBEL, water(depth_m=1.524), units="imperial")
    assert "depth 5.0 ft" in told.why
    assert " m " not in told.why
    assert "m/s" not in told.why


def test_a_mean_at_the_edge_in_feet_is_within_too():
    """0.39 m/s is 1.28 ft/s, read as 1.3; the preferred range begins at 1.3."""
    row = water(speed_m_s=0.39, speed_p10_m_s=0.39)
    assert (
        "1.3 ft/s, within the preferred" in explain(BARBEL, row, units="imperial").why
    )


def test_a_single_best_speed_belies_no_mean_that_reads_the_same():
    """The brown trout's best is 0.267 m/s, read as 0.27 (its species file)."""
    row = water(speed_m_s=0.27, speed_p10_m_s=0.27, speed_p90_m_s=0.27)
    assert "0.27 m/s, within" in explain(read_species()["brown_trout"], row).why


def test_a_swim_that_varies_beyond_the_preferred_range_says_from_where_to_where():
    told = explain(BARBEL, water(depth_p10_m=0.4, depth_p90_m=2.1, suit_depth=0.7))
    assert "(mostly 0.4–2.1 m), on average within the preferred" in told.cons[0]
    assert "mostly" not in explain(BARBEL, water()).why


def test_a_species_that_takes_any_bottom_alike_is_not_held_back_by_it():
    """Every class suits bleak 0.8 (its species file): 0.8 is its best bottom."""
    told = explain(read_species()["bleak"], water(suit_substrate=0.8))
    assert told.limiting == ""


@pytest.mark.parametrize(
    ("column", "words"),
    [
        ("wet_share", "Only 60 % of the swim is known to hold water."),
        ("substrate_known_share", "Only 60 % of the bottom was surveyed."),
    ],
)
def test_what_is_not_spoken_for_is_said(column, words):
    assert words in explain(BARBEL, water(**{column: 0.6})).why
    assert words not in explain(BARBEL, water(**{column: 1.0})).why
    assert "Only" not in explain(BARBEL, water(**{column: NAN})).why


def test_a_swim_of_which_nothing_is_known_claims_nothing():
    told = explain(BARBEL, dict.fromkeys(water(), NAN))
    assert (told.limiting, told.pros, told.cons) == ("", (), ())
    assert told.why == (
        "Depth not surveyed, pace not surveyed, bottom not surveyed: "
        "it could be better or worse."
    )


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("name", sorted(read_species()))
def test_the_longest_sentences_stay_readable(name, units):
    """Everything varies and nothing is good: about three lines of a screen."""
    row = water(depth_p10_m=0.05, depth_p90_m=9.75, speed_p10_m_s=0.05)
    row |= {"suit_depth": 0.2, "suit_speed": 0.9, "suit_substrate": 0.1}
    row |= {"silt_share": 0.45, "gravel_share": 0.45, "speed_p90_m_s": 1.95}
    assert len(explain(read_species()[name], row, units=units).why) <= 250
