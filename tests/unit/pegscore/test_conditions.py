"""Closed days to the day, hot water to the degree."""

from __future__ import annotations

import dataclasses
import datetime as dt

import numpy as np
import pytest

from layers.river import Season
from pegscore.conditions import Conditions, verdict
from pegscore.errors import PegError
from pegscore.seasons import season_text
from pegscore.species import read_species

SPECIES = read_species()
NORMAL = Conditions(level_m=0.6)
BARBEL, ROACH, TROUT = (SPECIES[name] for name in ("barbel", "roach", "brown_trout"))


def on(year: int, month: int, day: int, **more) -> Conditions:
    return Conditions(level_m=0.6, date=dt.date(year, month, day), **more)


@pytest.mark.parametrize(
    ("month", "day", "closed"),
    [(3, 14, False), (3, 15, True), (6, 15, True), (6, 16, False)],
)
def test_the_default_close_season_is_inclusive_at_both_ends(month, day, closed):
    """15 March to 15 June inclusive (GOV.UK; Environment Agency byelaws)."""
    told = verdict(BARBEL, on(2026, month, day), None)
    assert told.closed is closed
    assert bool(told.vetoes) is closed


def test_a_closed_answer_says_when_it_opens():
    told = verdict(BARBEL, on(2026, 4, 1), None)
    assert told.opens == dt.date(2026, 6, 16)
    assert "opens 16 June 2026" in told.vetoes[0]


@pytest.mark.parametrize(
    ("date", "closed", "year"),
    [
        ((2026, 12, 1), True, 2027),
        ((2027, 1, 31), True, 2027),
        ((2027, 2, 1), False, None),
        ((2026, 11, 30), False, None),
    ],
)
def test_a_clubs_season_may_run_over_new_year_and_wins(date, closed, year):
    season = Season(first_closed=(12, 1), last_closed=(1, 31), note="Club rule.")
    told = verdict(BARBEL, on(*date), season)
    assert told.closed is closed
    assert told.opens == (dt.date(year, 2, 1) if closed else None)
    assert not verdict(BARBEL, on(2026, 5, 1), season).closed


def test_a_season_that_ends_on_leap_day_opens_on_the_first_of_march():
    season = Season(first_closed=(2, 1), last_closed=(2, 29))
    assert verdict(ROACH, on(2027, 2, 10), season).opens == dt.date(2027, 3, 1)
    assert verdict(ROACH, on(2028, 2, 10), season).opens == dt.date(2028, 3, 1)


def test_without_a_date_the_closed_days_are_told():
    told = verdict(BARBEL, Conditions(level_m=0.6), None)
    assert not told.closed
    assert "15 March to 15 June" in told.notes[0]


def test_an_unchecked_date_and_temperature_are_said():
    """Silence on an unchecked closed season or hot water would look like leave."""
    notes = " ".join(verdict(BARBEL, Conditions(level_m=0.6), None).notes)
    assert "closed days were not checked" in notes
    assert "21 °C" in notes
    assert "temperature" not in " ".join(verdict(ROACH, on(2026, 7, 1), None).notes)


def test_the_clubs_own_note_goes_with_every_answer():
    season = Season(first_closed=(3, 1), last_closed=(6, 15), note="Night\x1b[2J\nban.")
    for day in (on(2026, 4, 1), on(2026, 8, 1), Conditions(level_m=0.6)):
        assert any(
            "Night [2J ban." in note for note in verdict(ROACH, day, season).notes
        )


def test_a_river_closed_all_year_never_opens():
    season = Season(first_closed=(1, 1), last_closed=(12, 31))
    told = verdict(BARBEL, on(2026, 8, 1), season)
    assert told.closed
    assert told.opens is None
    assert told.vetoes[0].startswith("closed all year")


def test_a_club_that_leaves_open_a_usually_closed_day_is_told_to_check():
    season = Season(first_closed=(3, 15), last_closed=(5, 31))
    note = "check the byelaws"
    june = verdict(BARBEL, on(2026, 6, 10), season)
    assert not june.vetoes
    assert any(note in each for each in june.notes)
    july = verdict(BARBEL, on(2026, 7, 10), season)
    assert not any(note in each for each in july.notes)


def test_trout_are_sent_to_the_local_byelaws():
    assert "regional byelaws" in season_text(TROUT, None)


@pytest.mark.parametrize(
    ("temp_c", "vetoed"), [(20.9, False), (21.0, False), (21.1, True)]
)
@pytest.mark.parametrize("name", ["barbel", "chub", "pike"])
def test_hot_water_is_a_veto_strictly_above_21_degrees(name, temp_c, vetoed):
    """Environment Agency advice as reported by Angling Times, 2020."""
    told = verdict(SPECIES[name], on(2026, 7, 1, water_temp_c=temp_c), None)
    assert bool(told.vetoes) is vetoed


def test_hot_water_names_who_advises_and_hides_any_appetite():
    told = verdict(BARBEL, on(2026, 7, 1, water_temp_c=22.0), None)
    assert (
        "Environment Agency advice as reported in 2020 [source ea_hot]"
        in (told.vetoes[0])
    )
    assert np.isnan(told.temperature_factor)
    assert not any("feeding" in note for note in told.notes)


def test_a_clubs_own_limit_is_not_put_into_the_agencys_mouth():
    stricter = dataclasses.replace(BARBEL, hot_above_c=19.0)
    told = verdict(stricter, on(2026, 7, 1, water_temp_c=20.0), None)
    assert "19 °C" in told.vetoes[0]
    assert "Agency" not in told.vetoes[0]


def test_closed_and_hot_are_two_vetoes():
    told = verdict(BARBEL, on(2026, 6, 1, water_temp_c=23.0), None)
    assert len(told.vetoes) == 2


def test_hot_water_warns_but_does_not_veto_where_the_limit_is_from_memory():
    told = verdict(TROUT, on(2026, 7, 1, water_temp_c=19.5), None)
    assert not told.vetoes
    assert any("better not" in note for note in told.notes)


def test_roach_have_no_published_heat_advice():
    assert not verdict(ROACH, on(2026, 7, 1, water_temp_c=25.0), None).vetoes


def test_temperature_is_a_note_beside_the_score():
    """The barbel's curve stands at 0.3 at 6 degrees (its species file)."""
    told = verdict(BARBEL, on(2026, 12, 1, water_temp_c=6.0), None)
    assert told.temperature_factor == pytest.approx(0.3)
    note = next(note for note in told.notes if "not part of the score" in note)
    assert "0.30 of 1" in note
    assert "(marks C;" in note  # the curve's point at 6 degrees bears mark C
    assert np.isnan(verdict(BARBEL, on(2026, 12, 1), None).temperature_factor)


@pytest.mark.parametrize("temp_c", [-2.0, 68.0])
def test_water_that_cannot_be_water_is_refused(temp_c):
    with pytest.raises(PegError, match=f"water of {temp_c}"):
        Conditions(level_m=0.6, water_temp_c=temp_c)


def test_a_level_that_is_no_number_is_refused():
    with pytest.raises(PegError, match="level nan"):
        Conditions(level_m=float("nan"))


def test_who_is_not_to_fish_gets_no_hint_how():
    open_ = verdict(SPECIES["chub"], on(2026, 7, 1, above_measured_m=0.2), None)
    flood = verdict(SPECIES["chub"], on(2026, 7, 1, above_measured_m=0.9), None)
    assert any("backwaters" in note for note in open_.notes)
    assert not any("backwaters" in note for note in flood.notes)


def test_a_light_that_matters_and_was_not_given_is_said():
    assert any("No hour given" in note for note in verdict(ROACH, NORMAL, None).notes)
    carp = verdict(SPECIES["carp"], NORMAL, None)  # nothing known of light and carp
    assert not any("No hour given" in note for note in carp.notes)
