"""What light, cold and clarity do beside the score, and files that say so badly."""

from __future__ import annotations

import dataclasses
import datetime as dt

import numpy as np
import pytest

from pegscore.conditions import Conditions, verdict
from pegscore.daylight import Light
from pegscore.errors import SpeciesRefused
from pegscore.modifier_file import modifier_faults
from pegscore.modifiers import Modifier, cell_factor, holding
from pegscore.species import read_species

SPECIES = read_species()
NOON = dt.datetime(2026, 7, 4, 12, tzinfo=dt.UTC)


def light(phase: str) -> Light:
    return Light(
        moment=NOON,
        sun_deg=0.0,
        phase=phase,
        first_light=None,
        sunrise=None,
        sunset=None,
        last_light=None,
    )


def day(**known) -> Conditions:
    return Conditions(level_m=0.6, **known)


def factor_of(name: str, conditions: Conditions, **water: float) -> float:
    cells = {"depth_m": np.array([1.0]), "speed_m_s": np.array([0.2])}
    cells |= {key: np.array([value]) for key, value in water.items()}
    found = cell_factor(holding(SPECIES[name].modifiers, conditions), cells)
    return 1.0 if found is None else float(found[0])


def test_roach_take_to_still_water_after_dark_and_not_by_day():
    """Baade & Fredrich 1998 (seen): by day along the banks, by night in still water."""
    night, noon = day(light=light("night")), day(light=light("day"))
    assert factor_of("roach", night, speed_m_s=0.0) == pytest.approx(1.25)
    assert factor_of("roach", night, speed_m_s=0.3) < 1.0
    assert factor_of("roach", noon, speed_m_s=0.0) == 1.0
    assert factor_of("roach", noon, speed_m_s=0.3) == 1.0


def test_barbel_are_forgiven_shallow_water_at_dusk_and_dawn_only():
    """Baras & Cherry 1990 (seen): dusk and dawn activity with occupation of riffles."""
    for phase in ("dusk", "dawn"):
        assert factor_of("barbel", day(light=light(phase)), depth_m=0.4) > 1.2
    for phase in ("day", "night"):
        assert factor_of("barbel", day(light=light(phase)), depth_m=0.4) == 1.0


@pytest.mark.parametrize("name", ["bream", "roach", "chub", "perch"])
@pytest.mark.parametrize(
    ("temp_c", "depth_m", "factor"),
    [(5.9, 1.0, 0.6), (6.0, 1.0, 1.0), (5.9, 2.0, 1.0), (12.0, 1.0, 1.0)],
)
def test_cold_water_empties_the_shallows(name, temp_c, depth_m, factor):
    """Below 6 degrees, where shallower than 1.5 m: 0.6, a proposal (mark P)."""
    found = factor_of(name, day(water_temp_c=temp_c), depth_m=depth_m)
    assert found == pytest.approx(factor)


@pytest.mark.parametrize(
    ("clarity", "factor"), [("coloured", 0.8), ("tinged", 1.0), ("clear", 1.0)]
)
def test_coloured_water_is_against_fish_that_feed_by_sight(clarity, factor):
    told = verdict(SPECIES["pike"], day(clarity=clarity), None)
    assert told.day_factor == pytest.approx(factor)
    assert ("coloured water ×0.80" in told.day_why) is (factor < 1)
    assert verdict(SPECIES["barbel"], day(clarity=clarity), None).day_factor == 1.0


def test_high_water_is_told_without_a_number():
    high = day(above_measured_m=0.1)
    told = verdict(SPECIES["chub"], high, None)
    assert told.day_factor == 1.0
    assert any("backwaters" in note for note in told.notes)
    assert not any(
        "backwaters" in n for n in verdict(SPECIES["chub"], day(), None).notes
    )


def test_what_was_not_told_of_the_day_holds_nothing():
    for kind in SPECIES.values():
        assert holding(kind.modifiers, day()) == ()


def test_cold_and_dark_multiply():
    both = day(light=light("night"), water_temp_c=5.0)
    assert factor_of("roach", both, depth_m=1.0, speed_m_s=0.0) == pytest.approx(0.75)


def test_the_days_factor_is_the_product_of_its_parts():
    """Pike at 6 °C: between 0.7 at 4 and 1 at 9 °C, 0.7 + 0.3 * 2/5 = 0.82; at 6 mg/l
    of oxygen between 0.8 at 5 and 1 at 7: 0.9; in coloured water 0.8."""
    told = verdict(
        SPECIES["pike"],
        day(water_temp_c=6.0, clarity="coloured", oxygen_mg_l=6.0),
        None,
    )
    assert told.day_factor == pytest.approx(0.82 * 0.9 * 0.8)
    assert told.day_why == (
        "water at 6 °C ×0.82",
        "oxygen 6 mg/l ×0.90",
        "coloured water ×0.80",
    )


def test_every_shipped_number_bears_its_mark_and_every_modifier_its_words():
    shipped = [each for kind in SPECIES.values() for each in kind.modifiers]
    assert shipped
    for each in shipped:
        assert each.note
        assert "club" not in each.marks
        assert bool(each.points) is bool(each.marks)


def test_a_club_replaces_all_modifiers_of_a_species(tmp_path):
    (tmp_path / "species").mkdir()
    (tmp_path / "species" / "roach.toml").write_text(
        '[[modifier]]\nlight = ["dusk"]\nfactor = 1.2\nnote = "they come on here"\n'
    )
    own = read_species(tmp_path)["roach"].modifiers
    assert [(each.light, each.for_every_peg) for each in own] == [(("dusk",), 1.2)]
    told = verdict(
        dataclasses.replace(SPECIES["roach"], modifiers=own),
        day(light=light("dusk")),
        None,
    )
    assert told.day_why == ("light ×1.20",)


def test_unknown_depth_is_neither_helped_nor_hurt():
    deep = Modifier(by="depth_m", points=((0.0, 0.5), (1.0, 0.5)))
    assert deep.at({"depth_m": np.array([np.nan])}).tolist() == [1.0]


@pytest.mark.parametrize(
    ("block", "said"),
    [
        ({"light": ["nite"], "note": "x"}, "light is ['nite']"),
        ({"clarity": "clear", "note": "x"}, "clarity is 'clear'"),
        ({"water_below_c": "cold", "note": "x"}, "water_below_c is 'cold'"),
        ({"high_water": "yes", "note": "x"}, "high_water is 'yes'"),
        ({"factor": 0.8, "note": "x"}, "never says when it holds"),
        ({"light": ["day"]}, "note is None"),
        ({"light": ["day"], "note": "x", "factor": 3.0}, "factor is 3.0"),
        ({"light": ["day"], "note": "x", "factor": [0.8, "Q"]}, "the mark is 'Q'"),
        ({"light": ["day"], "note": "x", "ligth": []}, "did you mean 'light'?"),
        (
            {"light": ["day"], "note": "x", "points": [[0, 1], [1, 1]]},
            "by is None",
        ),
        (
            {
                "light": ["day"],
                "note": "x",
                "by": "depth_m",
                "points": [[1, 1], [0, 1]],
            },
            "x does not rise from 1 to 0",
        ),
        (
            {"light": ["day"], "note": "x", "by": "depth_m", "points": [[1, 1]]},
            "points is [[1, 1]]",
        ),
        (
            {"light": ["day"], "note": "x", "by": "depth_m", "points": [["a", 1], [1]]},
            "point ['a', 1]",
        ),
        (
            {"light": ["day"], "note": "x", "by": "depth_m", "points": [], "factor": 1},
            "keep one of them",
        ),
    ],
)
def test_a_bad_modifier_is_told_with_its_value(block, said):
    assert any(said in fault for fault in modifier_faults([block]))


def test_a_modifier_that_is_no_list_is_told():
    assert "write each under [[modifier]]" in next(modifier_faults({"light": []}))


def test_a_bad_modifier_in_a_clubs_file_is_refused_with_its_name(tmp_path):
    (tmp_path / "species").mkdir()
    (tmp_path / "species" / "chub.toml").write_text(
        '[[modifier]]\nlight = ["noon"]\nnote = "x"\n\n[limits]\noxygen = "lots"\n'
    )
    with pytest.raises(SpeciesRefused) as refused:
        read_species(tmp_path)
    assert "species/chub.toml: modifier 1: light is ['noon']" in str(refused.value)
    assert "oxygen is 'lots'" in str(refused.value)
