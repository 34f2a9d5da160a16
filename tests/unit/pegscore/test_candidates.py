"""Places on the banks of a straight river, 200 m long and 20 m wide."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from shapely import LineString, Point, box

from pegscore.bank_ruler import bank_rulers
from pegscore.candidates import BankWishes, bank_places, candidate_table
from pegscore.errors import LayoutRefused
from pegscore.ranking import score_swims

LEVEL_M = 0.6
LINE = LineString([(1100.0, 0.0), (1100.0, 200.0)])


def reasons_at(found, easting: float, bank: str = "left") -> str:
    own = found.table[found.table["bank"] == bank]
    return own.loc[(own["easting"] - easting).abs().idxmin(), "excluded"]


def test_places_stand_every_two_metres_on_both_banks(bank_run):
    found = candidate_table(bank_run(), ["chub"], [LEVEL_M], step_m=2.0)
    # 200 m of bank less the metre at each end that may be where the map was cut
    assert found.table.groupby("bank").size().between(98, 100).all()
    left = found.table[found.table["bank"] == "left"]
    np.testing.assert_allclose(left["northing"], 60.0, atol=1e-6)
    np.testing.assert_allclose(np.diff(left["easting"]), 2.0, atol=1e-6)
    np.testing.assert_allclose(np.diff(left["bank_m"]), 2.0, atol=1e-6)
    assert (found.table["excluded"] == "").all()


def test_the_ruler_runs_downstream_on_both_banks(bank_run):
    for ruler in bank_rulers(bank_run().channel).values():
        places, bank_m = ruler.marks(5.0)
        assert (np.diff(places[:, 0]) > 0).all()
        assert (np.diff(bank_m) > 0).all()
        np.testing.assert_allclose(ruler.read(*places.T), bank_m, atol=1e-6)


def test_an_island_gets_no_places(bank_run, straight_water):
    run = bank_run(water=straight_water - box(1080, 46, 1120, 54))
    northing = bank_places(run.channel)["northing"]
    np.testing.assert_allclose(np.abs(northing - 50.0), 10.0, atol=1e-6)


@pytest.mark.parametrize("step_m", [0.0, 0.1, 50.0, float("nan")])
def test_a_step_that_is_no_use_is_refused_with_its_value(bank_run, step_m):
    with pytest.raises(LayoutRefused, match=f"{step_m:g} m"):
        candidate_table(bank_run(), ["chub"], [LEVEL_M], step_m=step_m)


def test_scores_are_those_of_the_ranking(bank_run):
    run = bank_run(depth_of=lambda east: 0.2 + (east - 1000) / 80)
    names = ["barbel", "bream", "chub"]
    found = candidate_table(run, names, [LEVEL_M], step_m=5.0)
    for number, name in enumerate(names):
        table = score_swims(run.stack, found.table, run.species[name], LEVEL_M)
        np.testing.assert_allclose(
            found.scores[0, number], table["score"], atol=1e-6
        )  # float32
        for factor, column in enumerate(found.factor_names):
            np.testing.assert_allclose(
                found.factors[0, number, factor], table[f"suit_{column}"], atol=1e-6
            )


def test_dry_water_has_no_score_and_no_peg(bank_run):
    run = bank_run(depth_of=lambda east: np.where(east < 1060, np.nan, 1.5))
    found = candidate_table(run, ["chub"], [LEVEL_M])
    assert "dry or unknown at 0.60 m" in reasons_at(found, 1020.0)
    assert np.isnan(found.scores[0, 0, 5])
    assert reasons_at(found, 1100.0) == ""


def test_thirty_metres_are_kept_from_an_overhead_line(bank_run):
    found = candidate_table(bank_run(places=[("overhead_line", LINE)]), ["chub"], [0.6])
    away_m = (found.table["easting"] - 1100.0).abs()
    # a swim runs 15 m downstream and 2 m upstream, always inside the 30 m
    assert ((away_m < 30.0) == (found.table["excluded"] != "")).all()
    assert found.table.loc[away_m < 30.0, "barred"].all()


def test_a_greater_clearance_is_kept_and_a_smaller_one_refused(bank_run):
    run = bank_run(places=[("overhead_line", LINE)])
    wide = candidate_table(run, ["chub"], [0.6], wishes=BankWishes(clearance_m=45.0))
    away_m = (wide.table["easting"] - 1100.0).abs()
    assert ((away_m < 45.0) == (wide.table["excluded"] != "")).all()
    for least_m in (29.9, 0.0, float("nan")):
        with pytest.raises(LayoutRefused, match=f"{least_m:g} m from overhead lines"):
            BankWishes(clearance_m=least_m)


@pytest.mark.parametrize(
    ("kind", "kept_m"),
    [("weir", 15.0), ("outfall", 15.0), ("steep_bank", 5.0), ("soft_bank", 5.0)],
)
def test_hazards_keep_their_distance(bank_run, kind, kept_m):
    found = candidate_table(
        bank_run(places=[(kind, Point(1100, 60.5))]), ["chub"], [0.6]
    )
    left = found.table[found.table["bank"] == "left"]
    away_m = np.hypot(left["easting"] - 1100.0, 0.5)
    assert ((away_m < kept_m) == (left["excluded"] != "")).all()
    assert not left["barred"].any()


def test_a_deep_margin_is_a_caution_not_a_rule(bank_run):
    found = candidate_table(
        bank_run(places=[("deep_margin", Point(1100, 60))]), ["chub"], [0.6]
    )
    assert (found.table["excluded"] == "").all()


def test_nobody_is_put_into_a_no_fishing_area(bank_run):
    zone = ("no_fishing", box(1080, 40, 1120, 70), "bathing place")
    found = candidate_table(bank_run(places=[zone]), ["chub"], [0.6])
    assert "bathing place" in reasons_at(found, 1100.0)
    assert reasons_at(found, 1060.0) == ""


def test_spawning_gravel_forbids_in_its_season_and_is_named_to_the_committee_only(
    bank_run,
):
    redd = ("spawning", box(1090, 52, 1110, 59), "the redd", "03-15", "06-30")
    run = bank_run(places=[redd])
    always = candidate_table(run, ["chub"], [0.6])
    assert "15 March to 30 June" in reasons_at(always, 1100.0)
    assert reasons_at(always, 1100.0, "right") == ""
    public = set(always.table["excluded_public"])
    assert public == {"", "kept free by the club"}
    in_may = BankWishes(date=dt.date(2026, 5, 1))
    in_july = BankWishes(date=dt.date(2026, 7, 1))
    may, july = (
        candidate_table(run, ["chub"], [0.6], wishes=wishes)
        for wishes in (in_may, in_july)
    )
    assert reasons_at(may, 1100.0) == reasons_at(always, 1100.0)
    assert (july.table["excluded"] == "").all()


def test_a_season_over_new_year_holds_on_both_sides_of_it(bank_run):
    redd = ("spawning", box(1090, 52, 1110, 59), "", "11-01", "02-28")
    run = bank_run(places=[redd])
    for day, barred in ((dt.date(2026, 12, 5), True), (dt.date(2026, 4, 5), False)):
        found = candidate_table(run, ["chub"], [0.6], wishes=BankWishes(date=day))
        assert bool(reasons_at(found, 1100.0)) is barred


def test_places_within_reach_of_a_step_free_path_are_step_free(bank_run):
    path = ("step_free_path", LineString([(1040.0, 65.0), (1080.0, 65.0)]))
    found = candidate_table(bank_run(places=[path]), ["chub"], [0.6])
    table = found.table
    past_m = np.maximum(np.maximum(1040 - table["easting"], table["easting"] - 1080), 0)
    away_m = np.hypot(past_m, 65.0 - table["northing"])
    assert (table["step_free"] == (away_m <= 10.0)).all()
    assert table["step_free"].sum() > 10
