"""What bars a peg and what is said of it."""

from __future__ import annotations

import datetime as dt

import geopandas as gpd
import pytest
from shapely import LineString, MultiPoint, Point, Polygon, box

from pegscore.cautions import GENERAL_CAUTIONS, LINE_CLEARANCE_M, peg_cautions
from pegscore.errors import PegError


def places(*rows: tuple) -> gpd.GeoDataFrame:
    kinds, shapes, *rest = zip(
        *[(*row, None, None, None)[:5] for row in rows], strict=True
    )
    names, firsts, lasts = rest
    return gpd.GeoDataFrame(
        {"kind": kinds, "name": names, "from_day": firsts, "to_day": lasts},
        geometry=list(shapes),
        crs="EPSG:27700",
    )


@pytest.fixture
def pegs() -> gpd.GeoDataFrame:
    table = gpd.GeoDataFrame(index=["7"], geometry=[Point(0, 0)], crs="EPSG:27700")
    table["swim"] = gpd.GeoSeries([box(-2, 1, 15, 8)], index=["7"], crs="EPSG:27700")
    return table


def line_at(distance_m: float) -> LineString:
    """A line north-south, that far west of the peg: away from its swim."""
    return LineString([(-distance_m, -100), (-distance_m, 100)])


@pytest.mark.parametrize(("distance_m", "blocked"), [(29.9, True), (30.0, False)])
def test_thirty_metres_from_a_line_is_the_published_limit(pegs, distance_m, blocked):
    """Energy Networks Association: at least 30 m from any power line."""
    (found,) = peg_cautions(pegs, places(("overhead_line", line_at(distance_m))))["7"]
    assert LINE_CLEARANCE_M == 30.0
    assert found.blocks is blocked
    assert "overhead line" in found.text


def test_a_line_far_off_is_not_mentioned(pegs):
    assert peg_cautions(pegs, places(("overhead_line", line_at(61))))["7"] == ()


def test_a_line_over_the_swim_bars_the_peg(pegs):
    far = pegs.set_geometry([Point(-100, 0)], crs=pegs.crs)
    (found,) = peg_cautions(
        far, places(("overhead_line", LineString([(5, 0), (5, 9)])))
    )["7"]
    assert found.blocks


def test_a_peg_inside_a_no_fishing_area_is_barred(pegs):
    (found,) = peg_cautions(pegs, places(("no_fishing", box(-1, -1, 1, 1))))["7"]
    assert found.blocks


@pytest.mark.parametrize(
    ("kind", "word"),
    [
        ("weir", "undertow"),
        ("steep_bank", "edge"),
        ("soft_bank", "give way"),
        ("deep_margin", "slip in"),
        ("outfall", "without warning"),
    ],
)
def test_each_hazard_near_the_seat_gets_its_word(pegs, kind, word):
    (found,) = peg_cautions(pegs, places((kind, Point(-3, 0))))["7"]
    assert word in found.text
    assert not found.blocks
    assert peg_cautions(pegs, places((kind, Point(-50, 0))))["7"] == ()


def test_spawning_gravel_is_never_for_members(pegs):
    row = ("spawning", box(0, 2, 4, 4), None, "03-15", "06-30")
    (found,) = peg_cautions(pegs, places(row))["7"]
    assert not found.members
    assert not found.blocks


def test_weed_in_the_swim_names_its_days_and_a_snag_its_name(pegs):
    found = peg_cautions(
        pegs,
        places(
            ("weed", box(0, 2, 4, 4), None, "05-01", "10-31"),
            ("snag", Point(5, 5), "sunken\nwillow"),
        ),
    )["7"]
    texts = " / ".join(caution.text for caution in found)
    assert "1 May to 31 October" in texts
    assert "(sunken willow)" in texts


def test_what_bars_a_peg_comes_first(pegs):
    found = peg_cautions(
        pegs, places(("weir", Point(-1, 0)), ("overhead_line", line_at(20)))
    )["7"]
    assert [caution.blocks for caution in found] == [True, False]


def test_no_places_file_means_nothing_known(pegs):
    assert peg_cautions(pegs, None) == {"7": ()}


def test_the_general_cautions_say_what_the_data_cannot():
    text = " ".join(GENERAL_CAUTIONS)
    for words in ("30 m", "no proof of safety", "not a promise", "byelaws", "alone"):
        assert words in text


def test_a_distance_is_never_rounded_up_to_look_safe(pegs):
    (found,) = peg_cautions(pegs, places(("overhead_line", line_at(29.97))))["7"]
    assert found.blocks
    assert "29.9 m away" in found.text


def test_a_line_near_the_swim_is_spoken_of_though_the_seat_is_far(pegs):
    """The seat is 70 m west of the line, the swim's near end, x = 15, only 5 m."""
    far = pegs.set_geometry([Point(-50, 0)], crs=pegs.crs)
    line = LineString([(20, -90), (20, 90)])
    (found,) = peg_cautions(far, places(("overhead_line", line)))["7"]
    assert not found.blocks
    assert "70 m away, 5 m from the swim" in found.text


def test_a_way_under_a_line_is_told_to_the_pegs_it_leads_to(pegs):
    """The walk to 7 passes 10 m from the line; 8's path goes on under it, alone."""
    both = gpd.GeoDataFrame(
        index=["7", "8"], geometry=[Point(0, 0), Point(500, 0)], crs=pegs.crs
    )
    found = peg_cautions(
        both,
        places(
            ("path", LineString([(0, -5), (0, -90)])),
            ("path", LineString([(500, -5), (500, -300)])),
            ("parking", Point(0, -90)),
            ("parking", Point(500, -20)),
            ("overhead_line", LineString([(-80, -100), (600, -100)])),
        ),
    )
    (told,) = found["7"]
    assert "comes within 10 m of the walk" in told.text
    assert told.members
    assert not told.blocks
    assert found["8"] == ()


@pytest.mark.parametrize(("distance_m", "barred"), [(4.9, True), (5.0, False)])
def test_a_no_fishing_place_drawn_as_a_line_bars_as_wide_as_swims_avoid_it(
    pegs, distance_m, barred
):
    found = peg_cautions(pegs, places(("no_fishing", line_at(distance_m))))["7"]
    assert [caution.blocks for caution in found] == [True] * barred


def test_a_seasonal_no_fishing_place_bars_and_tells_its_days(pegs):
    row = ("no_fishing", box(-1, -1, 1, 1), "Heron bank", "02-01", "07-31")
    (found,) = peg_cautions(pegs, places(row))["7"]
    assert found.blocks
    assert "(Heron bank) (1 February to 31 July)" in found.text


@pytest.mark.parametrize(
    ("day", "bars"),
    [((2, 1), True), ((7, 31), True), ((8, 1), False), ((1, 31), False)],
)
def test_on_a_known_day_a_seasonal_no_fishing_place_bars_in_its_days_alone(
    pegs, day, bars
):
    row = ("no_fishing", box(-1, -1, 1, 1), "Heron bank", "02-01", "07-31")
    (found,) = peg_cautions(pegs, places(row), date=dt.date(2026, *day))["7"]
    assert found.blocks is bars
    assert "1 February to 31 July" in found.text
    assert ("not in force on" in found.text) is not bars


def test_a_no_fishing_place_without_days_bars_on_every_day(pegs):
    row = ("no_fishing", box(-1, -1, 1, 1), "Heron bank")
    (found,) = peg_cautions(pegs, places(row), date=dt.date(2026, 9, 1))["7"]
    assert found.blocks


def test_without_a_day_the_caution_says_why_it_bars(pegs):
    row = ("no_fishing", box(-1, -1, 1, 1), "Heron bank", "02-01", "07-31")
    (found,) = peg_cautions(pegs, places(row))["7"]
    assert found.text.endswith("barred all year here, as no day was given")


def test_places_in_another_system_are_refused_rather_than_measured(pegs):
    far = places(("overhead_line", line_at(5))).set_crs(27700).to_crs(4326)
    with pytest.raises(PegError, match=r"'WGS 84'.*to_crs"):
        peg_cautions(pegs, far)


@pytest.mark.parametrize("nothing", [None, Polygon()])
def test_a_line_that_lies_nowhere_is_refused_rather_than_passed_over(pegs, nothing):
    with pytest.raises(PegError, match="place 0 has no geometry"):
        peg_cautions(pegs, places(("overhead_line", nothing), ("weir", Point(1, 1))))


@pytest.mark.parametrize("swim", [None, Polygon()])
def test_a_peg_without_water_in_reach_still_gets_its_cautions(pegs, swim):
    pegs["swim"] = gpd.GeoSeries([swim], index=["7"], crs=pegs.crs)
    (found,) = peg_cautions(pegs, places(("overhead_line", line_at(12))))["7"]
    assert found.blocks
    assert found.distance_m == pytest.approx(12.0)


def test_no_member_sentence_speaks_of_spawning(pegs):
    rows = [("spawning", shape) for shape in (box(0, 2, 4, 4), MultiPoint([(1, 2)]))]
    found = peg_cautions(pegs, places(*rows, ("snag", Point(3, 3))))["7"]
    told = " ".join(caution.text for caution in found if caution.members)
    assert "snag" in told
    assert "spawn" not in told.lower()
    assert "spawn" not in " ".join(GENERAL_CAUTIONS).lower()


def test_a_name_that_hides_control_and_direction_marks_is_put_on_one_line(pegs):
    row = ("snag", Point(5, 5), "sunken\x1b\u202e\r\nwillow <b>")
    (found,) = peg_cautions(pegs, places(row))["7"]
    assert found.text == "snag in the swim (sunken willow <b>)"
