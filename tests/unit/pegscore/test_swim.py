import datetime as dt
import json
import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, box

from pegscore import swim_score
from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.errors import BaitUnknown, PegError, PegUnknown
from pegscore.swim import SwimWishes, panel_record, sheet_record, swim_sheet
from pegscore.swim_words import sheet_text
from tests.swim_world import LEVEL_M, at, make_run, place


def sheet_of(run, peg="1", **wishes):
    return swim_sheet(run, peg, level_m=LEVEL_M, wishes=SwimWishes(**wishes))


def unknown(down, _):
    return np.full(np.shape(down), np.nan)


def timed(folder, seconds=15.0):
    """Every metre and a half takes 15 s: 0.1 m/s, so 0.4 * 1.5 / 0.1 = 6 m of drift."""
    text = f"[corn]\nsink_depth_m = 1.5\nsink_seconds = {seconds}\n"
    (folder / "baits.toml").write_text(text, encoding="utf-8")


def test_feed_thrown_a_metre_down_lands_where_arithmetic_says(tmp_path):
    timed(tmp_path)
    (feed,) = sheet_of(make_run(tmp_path), baits=["corn"]).feeds
    assert feed.thrown_m == 1.0
    assert feed.landing.at_m == pytest.approx(7.0, abs=0.01)
    assert feed.settling.basis == "bucket test"


def test_feed_that_shall_land_ten_metres_down_is_thrown_at_four(tmp_path):
    timed(tmp_path)
    (feed,) = sheet_of(make_run(tmp_path), baits=["corn"], land_at_m=10.0).feeds
    assert feed.thrown_m == pytest.approx(4.0, abs=0.01)
    assert feed.landing.at_m == pytest.approx(10.0, abs=1e-6)


def test_the_zone_holds_every_baits_spread_and_the_shared_part_is_in_it(tmp_path):
    sheet = sheet_of(make_run(tmp_path))
    landings = [feed.landing for feed in sheet.feeds]
    assert sheet.zone.from_m == min(each.from_m for each in landings)
    assert sheet.zone.to_m == max(each.to_m for each in landings)
    assert sheet.zone.pass_s == pytest.approx(
        (sheet.zone.to_m - sheet.zone.from_m) / (0.4 * 7 / 6), rel=1e-6
    )


def test_baits_that_part_company_share_no_zone(tmp_path):
    sheet = sheet_of(make_run(tmp_path), baits=["groundbait", "caster"])
    assert not sheet.zone.is_shared
    assert math.isnan(sheet.zone.shared_pass_s)


def test_a_bait_that_floats_says_so_and_is_left_out_of_the_zone(tmp_path):
    sheet = sheet_of(make_run(tmp_path), baits=["crust", "hemp"])
    crust, hemp = sheet.feeds
    assert crust.settling.floats
    assert math.isnan(crust.landing.at_m)
    assert sheet.zone.from_m == hemp.landing.from_m


def test_only_baits_that_float_make_no_zone(tmp_path):
    assert sheet_of(make_run(tmp_path), baits=["crust"]).zone is None


def test_the_depth_to_set_is_the_runs_own(tmp_path):
    def sloping(down, _):
        return 1.0 + 0.1 * np.asarray(down)

    depths = sheet_of(make_run(tmp_path, depth=sloping)).depth_to_set
    # linear down the run: the ends of the swim and its middle
    assert depths.clear_m == pytest.approx(0.9, abs=0.11)
    assert depths.deepest_m == pytest.approx(2.45, abs=0.11)
    assert depths.usual_m == pytest.approx(
        (depths.clear_m + depths.deepest_m) / 2, abs=1e-5
    )
    assert depths.error_m == pytest.approx(0.1, abs=1e-6)


def test_the_floats_weight_is_the_guides(tmp_path):
    # 1.5 m at 0.4 m/s: 1.2 g a metre
    weight = sheet_of(make_run(tmp_path)).weight
    assert weight.grams == pytest.approx(1.8)
    assert weight.shot == "2 AAA + 1 No 4"


def test_unknown_pace_is_said_and_nothing_that_needs_it_is_told(tmp_path):
    sheet = sheet_of(make_run(tmp_path, speed=unknown))
    assert any("Pace is not known here" in note for note in sheet.notes)
    assert sheet.zone is None
    assert math.isnan(sheet.pass_s)
    assert math.isnan(sheet.weight.grams)
    assert sheet.depth_to_set.usual_m == pytest.approx(1.5, rel=1e-6)


def test_a_bottom_nobody_surveyed_is_said(tmp_path):
    sheet = sheet_of(make_run(tmp_path, bottom=""))
    assert "The bottom was not surveyed here." in sheet.notes


def test_a_peg_with_no_water_says_so_and_keeps_its_cautions(tmp_path):
    bank = place("steep_bank", Point(*at(0, -2)))
    sheet = sheet_of(make_run(tmp_path, depth=unknown, places=[bank]))
    assert any("No water in reach" in note for note in sheet.notes)
    assert any("steep bank" in text for text in sheet.cautions)
    assert sheet.line is None
    assert sheet.feeds == ()


def test_a_peg_under_a_line_is_barred_and_nobody_is_told_how_to_fish_it(tmp_path):
    wire = place("overhead_line", LineString([at(5, -20), at(5, 40)]))
    sheet = sheet_of(make_run(tmp_path, places=[wire]))
    assert "overhead line" in sheet.barred
    assert "overhead line" in sheet.cautions[0]
    assert sheet.feeds == ()
    assert sheet.weight is None
    assert sheet.zone is None
    assert panel_record(sheet)["barred"] == sheet.barred


def test_a_peg_the_club_closed_is_barred(tmp_path):
    sheet = sheet_of(make_run(tmp_path, open_pegs=(False, True)))
    assert sheet.barred == "closed by the club"
    assert sheet.feeds == ()


def test_every_hazard_in_reach_is_on_the_sheet(tmp_path):
    near = [
        place("weir", LineString([at(0, 2), at(0, 12)])),
        place("outfall", Point(*at(2, 1))),
        place("steep_bank", Point(*at(1, -1))),
        place("soft_bank", Point(*at(1, -1))),
        place("deep_margin", Point(*at(1, 1))),
        place("snag", Point(*at(8, 4)), name="sunken limb"),
        place("weed", box(*at(2, 2), *at(6, 6)), from_day="05-01", to_day="10-31"),
        place("tree", Point(*at(4, 3))),
        place("overhead_line", LineString([at(45, -20), at(45, 40)])),
    ]
    told = " ".join(sheet_of(make_run(tmp_path, places=near)).cautions)
    for word in (
        "weir", "outfall", "steep bank", "soft bank", "deep margin", "snag", "weed",
        "tree", "overhead line",
    ):  # fmt: skip
        assert word in told


def test_spawning_gravel_is_on_no_sheet(tmp_path):
    redd = place("spawning", box(*at(2, 2), *at(6, 6)), name="redd")
    sheet = sheet_of(make_run(tmp_path, places=[redd]))
    told = json.dumps([sheet_record(sheet), panel_record(sheet)])
    assert "spawning" not in told
    assert "redd" not in told


def test_snags_and_weed_are_placed_by_metres_out_and_down(tmp_path):
    things = [
        place("snag", Point(*at(8, 4)), name="sunken limb"),
        place("weed", box(*at(2, 2), *at(6, 6)), from_day="05-01", to_day="10-31"),
        place("snag", Point(*at(40, 4)), name="out of reach"),
    ]
    weed, snag = sheet_of(make_run(tmp_path, places=things)).things
    assert weed.title == "weed, 1 May to 31 October"
    assert (weed.down_from_m, weed.down_to_m) == pytest.approx((2, 6), abs=1e-6)
    assert (weed.out_from_m, weed.out_to_m) == pytest.approx((2, 6), abs=1e-6)
    assert snag.title == "snag (sunken limb)"
    assert (snag.down_from_m, snag.out_from_m) == pytest.approx((8, 4), abs=1e-6)


def test_a_fish_is_netted_where_the_margin_is_gentle_and_clear(tmp_path):
    def shelving(_, out):
        return np.minimum(0.2 + 0.2 * np.asarray(out), 1.5)

    boggy = place("soft_bank", Point(*at(0, -1)))
    run = make_run(tmp_path, depth=shelving, places=[boggy])
    spot = sheet_of(run).netting
    # 5 m from the boggy place, a metre from the edge: sqrt(25 - 1) = 4.9 m down
    assert spot.down_m == pytest.approx(5.0, abs=0.1)
    assert spot.depth_m == pytest.approx(0.5, abs=0.01)
    assert sheet_of(make_run(tmp_path)).netting is None  # 1.5 m at the very edge


def test_no_places_file_is_said_to_leave_cautions_unknown(tmp_path):
    assert any("no caution" in note for note in sheet_of(make_run(tmp_path)).notes)


def test_the_general_cautions_go_with_every_sheet(tmp_path):
    assert sheet_of(make_run(tmp_path)).general_cautions == GENERAL_CAUTIONS


def test_the_score_is_the_rankings_own(tmp_path):
    score = sheet_of(make_run(tmp_path), species="barbel").score
    assert score.row["peg"] == "1"
    assert 0 < score.row["low"] <= score.row["score"] <= score.row["high"] <= 1
    assert score.pegs == 2


def test_a_closed_day_is_answered_with_that_and_no_score(tmp_path):
    score = sheet_of(
        make_run(tmp_path), species="barbel", date=dt.date(2026, 4, 1)
    ).score
    assert "closed season" in score.vetoes[0]
    assert not score.row


def test_an_unknown_peg_is_refused_with_the_nearest_names(tmp_path):
    run = make_run(tmp_path, names=("12a", "willow"))
    with pytest.raises(PegUnknown, match="nearest names are willow"):
        sheet_of(run, peg="wilow")
    with pytest.raises(PegUnknown, match="begin with 12a, willow"):
        sheet_of(run, peg="zzz")


def test_an_unknown_bait_is_refused(tmp_path):
    with pytest.raises(BaitUnknown, match="did you mean 'hemp'"):
        sheet_of(make_run(tmp_path), baits=["hmp"])


def test_a_throw_that_is_no_number_is_refused():
    with pytest.raises(PegError, match="throw_m is nan"):
        SwimWishes(throw_m=math.nan)


def test_the_panels_record_is_small_plain_and_complete(tmp_path):
    record = panel_record(sheet_of(make_run(tmp_path)))
    text = json.dumps(record, allow_nan=False)
    assert len(text) < 3000
    easting, northing, down_m, depth_m, speed_m_s = record["points"][0]
    assert (easting, northing) == pytest.approx(at(down_m, 4.5), abs=0.01)
    assert (depth_m, speed_m_s) == (1.5, 0.4)
    steps = np.diff([point[2] for point in record["points"]])
    np.testing.assert_allclose(steps, 2.0, atol=1e-9)
    assert set(record["set_m"]) == {"clear", "usual", "deepest"}
    assert record["zone"]["from_m"] < record["zone"]["to_m"]
    hemp = next(feed for feed in record["feeds"] if "hemp" in feed["title"])
    # 0.6 m²/s over its settling speed
    assert hemp["drift_m"] == pytest.approx(0.6 / 0.0723, rel=0.01)


def test_a_sheet_for_machines_has_null_where_nothing_is_known(tmp_path):
    record = sheet_record(sheet_of(make_run(tmp_path, speed=unknown)))
    json.dumps(record, allow_nan=False)
    assert record["pass_s"] is None
    assert record["run_line"][0]["speed_m_s"] is None
    assert record["feeds"][0]["lands"]["at_m"] is None


def test_a_crease_and_a_shelf_are_told_by_metres_out_and_down(tmp_path):
    # pace goes from 0.1 to 0.7 m/s round 6 m out, depth from 0.6 to 2 m round 4 m out
    def quicker(_, out):
        return 0.4 + 0.3 * np.tanh(np.asarray(out) - 6.0)

    def deeper(_, out):
        return 1.3 + 0.7 * np.tanh(np.asarray(out) - 4.0)

    marks = sheet_of(make_run(tmp_path, speed=quicker, depth=deeper)).structure
    found = {mark.kind: mark for mark in marks if mark.kind in ("crease", "shelf")}
    for kind, out_m in (("crease", 6.0), ("shelf", 4.0)):
        mark = found[kind]
        # the layers' cells are a metre wide, and the ribbon smooths them a little
        assert (mark.out_from_m + mark.out_to_m) / 2 == pytest.approx(out_m, abs=0.6)
        assert mark.down_from_m == pytest.approx(-2.0, abs=0.5)
        assert mark.down_to_m == pytest.approx(15.0, abs=0.5)


def test_a_slack_in_the_swim_is_told(tmp_path):
    def still(down, out):
        inside = (np.abs(np.asarray(down) - 6) < 6) & (np.asarray(out) < 7)
        return np.where(inside, 0.02, 0.5)

    kinds = {mark.kind for mark in sheet_of(make_run(tmp_path, speed=still)).structure}
    assert "slack" in kinds


def test_what_returns_say_of_a_peg_is_on_no_sheet(tmp_path, monkeypatch):
    told = "Returns: this peg's record +31 % on 15 visits."
    ranked = swim_score.rank_run

    def with_returns(*args):
        table = ranked(*args)
        return table.assign(returns=told, why=table["why"] + " " + told)

    monkeypatch.setattr(swim_score, "rank_run", with_returns)
    sheet = sheet_of(make_run(tmp_path), species="barbel")
    assert "15 visits" not in json.dumps(sheet_record(sheet))
    assert "15 visits" not in sheet_text(sheet)
    assert sheet.score.row["why"].startswith(("For", "Against"))


def test_a_run_in_a_lee_says_that_its_pace_is_a_guess(tmp_path):
    run = make_run(tmp_path)
    wet = dict(run.stack.by_level[LEVEL_M])
    wet["sheltered"] = np.ones(run.stack.grid.shape, np.float32)
    stack = replace(run.stack, by_level={LEVEL_M: wet})
    notes = sheet_of(replace(run, stack=stack)).notes
    assert any("its pace is a guess" in note for note in notes)
    assert not any("guess" in note for note in sheet_of(run).notes)


def test_feed_that_drifts_beyond_the_water_looked_at_is_not_placed(tmp_path):
    run = make_run(tmp_path, speed=lambda down, _: np.full(down.shape, 3.0))
    sheet = sheet_of(run, baits=["caster"])
    # 3 * 1.5 / 0.057 is 79 m
    assert math.isnan(sheet.feeds[0].landing.at_m)
    assert sheet.zone is None
    assert "leads beyond the water looked at" in " ".join(sheet_text(sheet).split())
