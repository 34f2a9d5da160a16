"""What bars a peg and what is said of it."""

from __future__ import annotations

import geopandas as gpd
import pytest
from shapely import LineString, Point, box

from pegscore.cautions import GENERAL_CAUTIONS, LINE_CLEARANCE_M, peg_cautions


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
    assert "05-01 to 10-31" in texts
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
