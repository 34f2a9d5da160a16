"""Pegs, places and catch returns make sense together."""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely

KINDS = {
    *("overhead_line", "weir", "steep_bank", "soft_bank", "deep_margin", "outfall"),
    *("no_fishing", "spawning", "path", "step_free_path", "parking", "tree", "snag"),
    "weed",
}


def of_kind(places: list, kind: str) -> list[shapely.Geometry]:
    return [shape for properties, shape in places if properties["kind"] == kind]


def test_pegs_stand_just_outside_the_water_on_their_bank(truth, tables):
    pegs = tables["pegs"]
    places = shapely.points(pegs["x"], pegs["y"])
    away = shapely.distance(places, truth.water)
    assert ((away > 0.5) & (away < 2.5)).all()
    _, offset = truth.to_channel(pegs["x"], pegs["y"])
    assert (np.where(offset > 0, "left", "right") == pegs["bank"]).all()


def test_peg_numbers_are_unique_with_gaps_and_one_is_closed(tables):
    pegs = tables["pegs"]
    assert 55 <= len(pegs) <= 70
    assert pegs["peg"].is_unique
    assert pegs["peg"].max() > len(pegs)
    assert (pegs["open"] == "no").sum() == 1
    assert 3 <= (pegs["step_free"] == "yes").sum() <= 10


def test_every_place_is_of_a_known_kind(places):
    kinds = {properties["kind"] for properties, _ in places}
    assert kinds == KINDS - {"outfall"}
    assert all(shape.is_valid for _, shape in places)


def test_the_overhead_line_crosses_the_river_near_pegs(places, truth, tables):
    (line,) = of_kind(places, "overhead_line")
    assert line.crosses(truth.water)
    pegs = tables["pegs"]
    close = shapely.distance(shapely.points(pegs["x"], pegs["y"]), line) < 30
    assert close.sum() >= 2
    assert pegs.loc[close, "note"].str.contains("overhead line").all()


def test_no_peg_lies_where_fishing_is_forbidden(places, tables):
    (zone,) = of_kind(places, "no_fishing")
    pegs = tables["pegs"]
    assert not shapely.contains_xy(zone, pegs["x"], pegs["y"]).any()


def test_seasonal_places_say_when(places):
    days = {
        properties["kind"]: (properties["from"], properties["to"])
        for properties, _ in places
        if "from" in properties
    }
    assert days == {"spawning": ("03-15", "06-30"), "weed": ("05-01", "10-31")}


def test_returns_name_no_one_and_no_closed_or_missing_peg(tables):
    returns, pegs = tables["returns"], tables["pegs"]
    assert returns["angler"].str.fullmatch(r"A\d\d").all()
    assert returns["angler"].nunique() == 30
    assert set(returns["peg"]) <= set(pegs.loc[pegs["open"] == "yes", "peg"])


def test_nobody_fished_in_the_closed_season(tables):
    day = tables["returns"]["date"].str[5:]
    assert not ((day >= "03-15") & (day <= "06-15")).any()


def test_a_blank_is_one_row_that_caught_nothing(tables):
    returns = tables["returns"]
    assert returns["visit"].nunique() == 900
    blank = returns["species"].isna()
    assert (returns.loc[blank, "count"] == 0).all()
    assert (returns.loc[~blank, "count"] > 0).all()
    rows = returns.groupby("visit").size()
    assert (rows[returns.loc[blank, "visit"]] == 1).all()
    assert not returns.duplicated(["visit", "species"]).any()


def test_a_visit_has_one_angler_peg_day_and_target(tables):
    same = ["date", "angler", "peg", "hours", "target", "level_m", "water_c", "clarity"]
    kept = tables["returns"][["visit", *same]].drop_duplicates()
    assert kept["visit"].is_unique


def test_effort_is_uneven_and_catches_follow_the_water(truth, tables):
    returns, pegs = tables["returns"], tables["pegs"]
    visits = returns.drop_duplicates("visit")
    effort = visits["peg"].value_counts()
    assert effort.max() > 4 * effort.median()
    hunts = visits[visits["target"] == "barbel"].groupby("peg")["hours"].sum()
    caught = returns[(returns["species"] == "barbel") & (returns["target"] == "barbel")]
    rate = (
        caught.groupby("peg")["count"].sum().reindex(hunts.index, fill_value=0) / hunts
    )
    at = pegs.set_index("peg").loc[hunts.index]
    s, _ = truth.to_channel(at["x"], at["y"])
    side = np.where(at["bank"] == "left", 1, -1)
    pace = truth.speed_m_s(s, side * (truth.half_width_m(s) - 8))
    assert rate.corr(pd.Series(pace, hunts.index), method="spearman") > 0.2
