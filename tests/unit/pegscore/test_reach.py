"""Swims on a straight river 200 x 20 m, where every corner is known by hand."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from shapely import LineString, Point, box

from layers.channel import Channel
from pegscore.errors import MethodUnknown, PegError
from pegscore.methods import find_method, read_methods
from pegscore.pegs import place_pegs
from pegscore.reach import METHODS, Method, swims

CLOSE = {"rtol": 0, "atol": 1e-6}  # metres: the axis is a spline through the line

TEN = Method(
    name="ten", title="ten", out_from_m=1.0, out_to_m=10.0, up_m=5.0, down_m=20.0
)
ACROSS = Method(
    name="across", title="across", out_from_m=0.0, out_to_m=50.0, up_m=10.0, down_m=20.0
)
ISLAND = box(1090, 48, 1110, 54)


def swim_of(seat, line, water, crs, *, method=TEN, places=None):
    table = pd.DataFrame({"peg": ["1"], "easting": [seat[0]], "northing": [seat[1]]})
    channel = Channel.fit(line, water)
    pegs = place_pegs(table, channel, crs)
    return swims(pegs, channel, method=method, places=places)["1"]


def places_of(crs, *shapes, kind="no_fishing"):
    return gpd.GeoDataFrame({"kind": [kind] * len(shapes)}, geometry=[*shapes], crs=crs)


def assert_covers_the_same(found, expected, *, within_m2=1e-4):
    """Two shapes differ by less than the area of a millimetre along their edges."""
    assert found.symmetric_difference(expected).area < within_m2


def test_from_the_left_bank_the_swim_lies_south_and_runs_down_east(
    straight_line, straight_water, crs
):
    swim = swim_of((1050, 62), straight_line, straight_water, crs)
    assert_covers_the_same(swim, box(1045, 50, 1070, 59))


def test_from_the_right_bank_the_swim_lies_north(straight_line, straight_water, crs):
    swim = swim_of((1050, 39), straight_line, straight_water, crs)
    assert_covers_the_same(swim, box(1045, 41, 1070, 50))


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        # out 1-8, up 2, down 15 from the edge at northing 60
        ("float", box(1048, 52, 1065, 59)),
        # out 2-14, up 3, down 30
        ("long_float", box(1047, 46, 1080, 58)),
        # out 4-22, but a metre short of the far bank at 40; up 5, down 15
        ("ledger", box(1045, 41, 1065, 56)),
    ],
)
def test_the_methods_reach_as_far_as_their_table_says(
    straight_line, straight_water, crs, name, expected
):
    swim = swim_of((1050, 62), straight_line, straight_water, crs, method=name)
    assert_covers_the_same(swim, expected)


def test_the_swim_ends_where_the_water_ends(straight_line, straight_water, crs):
    swim = swim_of((1195, 62), straight_line, straight_water, crs)
    assert_covers_the_same(swim, box(1190, 50, 1200, 59))


def test_the_swim_follows_the_curve_of_the_bank(crs):
    turn = np.linspace(0, np.pi, 400)
    line = LineString(np.column_stack([100 * np.sin(turn), -100 * np.cos(turn)]))
    water = line.buffer(10, cap_style="flat")
    # the river turns left round the origin: the left bank is the inner, radius 90
    swim = swim_of((89, 0), line, water, crs, method=TEN)
    radius_m = np.hypot(*shapely.get_coordinates(swim).T)
    # 0.1 m: the axis is smoothed, and a step of a metre is a chord
    np.testing.assert_allclose([radius_m.min(), radius_m.max()], [91, 100], atol=0.1)
    # a ring's sector: half of (100² - 91²) times the angle of 25 m on radius 100
    assert swim.area == pytest.approx((100**2 - 91**2) / 2 * 0.25, rel=0.01)


def test_nothing_beyond_an_island_is_in_the_swim(straight_line, straight_water, crs):
    water = straight_water - ISLAND
    swim = swim_of((1100, 62), straight_line, water, crs, method=ACROSS)
    assert swim.geom_type == "Polygon"
    assert not swim.intersects(box(1090, 40, 1110, 48))
    # the eye at (1100, 60) looks past a circle of 1 m round the corner (1110, 54)
    angle = np.arctan2(6, 10) - np.arcsin(1 / np.hypot(6, 10))
    fall = np.tan(angle)
    seen = shapely.Polygon(
        [(1112, 60), (1120, 60), (1120, 60 - 20 * fall), (1112, 60 - 12 * fall)]
    )
    found = swim.intersection(box(1112, 40, 1120, 60))
    # a circle is drawn as a polygon inside it: 0.01 m, 8 m long
    assert_covers_the_same(found, seen, within_m2=0.1)


def test_a_swim_stops_a_metre_short_of_an_island(straight_line, straight_water, crs):
    water = straight_water - ISLAND
    swim = swim_of((1100, 62), straight_line, water, crs, method=ACROSS)
    assert swim.intersection(box(1092, 40, 1108, 60)).bounds[1] == pytest.approx(55.0)


def test_a_peg_on_an_island_fishes_away_from_it(straight_line, straight_water, crs):
    water = straight_water - ISLAND
    narrow = Method(name="n", title="n", out_from_m=1, out_to_m=4, up_m=5.0, down_m=5.0)
    north = swim_of((1100, 53), straight_line, water, crs, method=narrow)
    south = swim_of((1100, 49), straight_line, water, crs, method=narrow)
    assert_covers_the_same(north, box(1095, 55, 1105, 58))
    assert_covers_the_same(south, box(1095, 44, 1105, 47))


def test_below_an_island_its_peg_does_not_fish_from_the_far_bank(
    straight_line, straight_water, crs
):
    water = straight_water - ISLAND
    swim = swim_of((1105, 53), straight_line, water, crs, method=ACROSS)
    # past the tip at 1110 its edge goes on straight, a metre behind it
    below = shapely.Polygon(
        [(1110, 59), (1110, 54), (1111, 53), (1125, 53), (1125, 59)]
    )
    assert_covers_the_same(swim.intersection(box(1110, 40, 1130, 60)), below)


def test_where_no_room_is_left_the_swim_is_empty(crs):
    line = LineString([(0, 0), (200, 0)])
    water = line.buffer(2.0, cap_style="flat")  # 4 m wide; a ledger begins 4 m out
    swim = swim_of((50, 3), line, water, crs, method="ledger")
    assert swim.is_empty
    assert swim.geom_type == "Polygon"


def test_no_fishing_is_cut_out(straight_line, straight_water, crs):
    places = places_of(crs, box(1060, 40, 1080, 70))
    swim = swim_of((1050, 62), straight_line, straight_water, crs, places=places)
    assert_covers_the_same(swim, box(1045, 50, 1060, 59))


def test_only_the_piece_nearest_to_the_peg_is_kept(straight_line, straight_water, crs):
    places = places_of(crs, box(1052, 40, 1055, 70))
    swim = swim_of((1050, 62), straight_line, straight_water, crs, places=places)
    assert_covers_the_same(swim, box(1045, 50, 1052, 59))


def test_a_peg_inside_no_fishing_has_no_swim(straight_line, straight_water, crs):
    places = places_of(crs, box(1049, 61, 1051, 63))
    swim = swim_of((1050, 62), straight_line, straight_water, crs, places=places)
    assert swim.is_empty


@pytest.mark.parametrize(
    "shape", [Point(1058, 55), LineString([(1058, 30), (1058, 70)])]
)
def test_no_fishing_drawn_as_a_point_or_line_keeps_five_metres_away(
    straight_line, straight_water, crs, shape
):
    places = places_of(crs, shape)
    swim = swim_of((1050, 62), straight_line, straight_water, crs, places=places)
    # 4.97: a circle is drawn as a polygon inside it
    assert swim.distance(shape) > 4.97


def test_other_places_do_not_cut_the_swim(straight_line, straight_water, crs):
    places = places_of(crs, box(1000, 40, 1200, 60), kind="weed")
    swim = swim_of((1050, 62), straight_line, straight_water, crs, places=places)
    assert_covers_the_same(swim, box(1045, 50, 1070, 59))


def test_swims_are_named_by_peg_and_carry_the_crs(straight_line, straight_water, crs):
    channel = Channel.fit(straight_line, straight_water)
    table = pd.DataFrame({"peg": ["b", "a"], "easting": [1080, 1020], "northing": 62.0})
    found = swims(place_pegs(table, channel, crs), channel)
    assert (found.index.tolist(), found.index.name) == (["b", "a"], "peg")
    assert found.crs == crs


def test_no_pegs_give_no_swims(straight_line, straight_water, crs):
    channel = Channel.fit(straight_line, straight_water)
    table = pd.DataFrame({"peg": [], "easting": [], "northing": []})
    assert len(swims(place_pegs(table, channel, crs), channel)) == 0


def test_the_other_limb_of_a_loop_is_not_in_reach(crs):
    # two limbs 40 m apart, joined by a half circle on the right: land between them
    turn = np.linspace(-np.pi / 2, np.pi / 2, 60)
    bend = np.column_stack([200 + 20 * np.cos(turn), 20 * np.sin(turn)])
    line = LineString([(0, -20), *bend, (0, 20)])
    water = line.buffer(12, cap_style="flat")
    # lower limb runs east: its left bank at northing -8; the upper one's at 8
    swim = swim_of((100, -7), line, water, crs, method=ACROSS)
    # 31 = a metre short of the bank at -32
    # 1e-4: past the smoothed bend the axis is straight to that
    np.testing.assert_allclose(swim.bounds, [90, -31, 120, -8], atol=1e-4)


def test_an_unknown_method_is_refused_with_the_nearest_name():
    with pytest.raises(MethodUnknown, match="'flaot'; did you mean 'float'"):
        find_method("flaot")


def test_a_method_of_ones_own_is_taken_as_it_is():
    assert find_method(TEN) is TEN


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"out_to_m": 1.0}, "reaches 1.0 to 1.0 m out"),
        ({"up_m": 0.0, "down_m": 0.0}, "0.0 m up and 0.0 m down: no water"),
        ({"up_m": -1.0}, "-1.0.*give metres of 0 or more"),
        ({"down_m": float("nan")}, "nan.*give metres of 0 or more"),
    ],
)
def test_a_method_without_water_is_refused_with_its_distances(change, message):
    distances = {"out_from_m": 1.0, "out_to_m": 2.0, "up_m": 1.0, "down_m": 1.0}
    with pytest.raises(PegError, match=message):
        Method(name="odd", title="odd", **(distances | change))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[whip", "not TOML"),
        ("whip = 3", "method 'whip' cannot be read"),
        ("[whip]\nout_from_m = 1", "out_to_m"),
        (
            "[whip]\nout_from_m = 'one'\nout_to_m = 2\nup_m = 1\ndown_m = 1",
            "'one' is not a number",
        ),
    ],
)
def test_methods_that_cannot_be_read_are_refused_with_the_reason(text, message):
    with pytest.raises(PegError, match=message):
        read_methods(text)


def test_every_shipped_method_has_a_title_and_a_sentence():
    assert set(METHODS) >= {"float", "long_float", "ledger"}
    assert all(each.title and each.description for each in METHODS.values())
