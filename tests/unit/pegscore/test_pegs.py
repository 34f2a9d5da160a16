"""Pegs on a straight river (left bank north), with and without an island."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from shapely import LineString, box

from layers.channel import Channel
from pegscore.pegs import place_pegs

CLOSE = {"rtol": 0, "atol": 1e-6}  # metres: the axis is a spline through the line


@pytest.fixture(scope="module")
def channel(straight_line, straight_water):
    return Channel.fit(straight_line, straight_water)


@pytest.fixture(scope="module")
def island_channel(straight_line, straight_water):
    """Return the straight river with an island from 1090 to 1110 and 48 to 54."""
    return Channel.fit(straight_line, straight_water - box(1090, 48, 1110, 54))


def placed(channel, crs, *seats, **columns):
    easting, northing = np.array(seats, float).reshape(-1, 2).T
    names = [str(number) for number in range(1, len(seats) + 1)]
    columns = {"peg": names, "easting": easting, "northing": northing, **columns}
    return place_pegs(pd.DataFrame(columns), channel, crs)


def test_north_of_a_river_that_runs_east_is_the_left_bank(channel, crs):
    pegs = placed(channel, crs, (1050, 62), (1060, 38))
    assert pegs["bank"].tolist() == ["left", "right"]


def test_the_bank_comes_from_the_geometry_not_from_the_file(channel, crs):
    assert placed(channel, crs, (1050, 62), bank=["right"])["bank"].item() == "left"


def test_chainage_and_offset_are_metres_down_and_across(channel, crs):
    peg = placed(channel, crs, (1050, 62)).loc["1"]
    np.testing.assert_allclose(
        [peg["chainage_m"], peg["offset_m"]], [50.0, 12.0], **CLOSE
    )


@pytest.mark.parametrize("northing", [63.0, 60.0, 57.0, 51.0])
def test_the_edge_is_the_nearest_on_the_own_side_from_land_and_water(
    channel, crs, northing
):
    peg = placed(channel, crs, (1050, northing)).loc["1"]
    edge = [peg["edge_easting"], peg["edge_northing"]]
    np.testing.assert_allclose(edge, [1050.0, 60.0], **CLOSE)


def test_the_end_of_the_map_is_not_a_bank(channel, crs):
    peg = placed(channel, crs, (1002, 55)).loc["1"]
    assert peg["edge_northing"] == pytest.approx(60.0, abs=1e-6)


def test_a_peg_on_an_island_has_its_edge_on_the_island(island_channel, crs):
    pegs = placed(island_channel, crs, (1100, 53), (1100, 49), (1100, 61))
    assert pegs["island"].tolist() == [True, True, False]
    np.testing.assert_allclose(pegs["edge_northing"], [54.0, 48.0, 60.0], **CLOSE)


def test_a_peg_in_the_water_beside_an_island_belongs_to_the_bank(island_channel, crs):
    peg = placed(island_channel, crs, (1100, 55)).loc["1"]
    assert not peg["island"]
    assert peg["edge_northing"] == pytest.approx(60.0, abs=1e-6)


def test_downstream_is_a_unit_vector_along_the_river(crs):
    line = LineString([(0, 0), (0, -200)])
    channel = Channel.fit(line, line.buffer(10, cap_style="flat"))
    peg = placed(channel, crs, (12, -50)).loc["1"]
    vector = [peg["downstream_east"], peg["downstream_north"]]
    np.testing.assert_allclose(vector, [0.0, -1.0], rtol=0, atol=1e-9)
    assert peg["bank"] == "left"


def test_the_order_of_the_file_and_the_names_are_kept(channel, crs):
    table = pd.DataFrame(
        {"peg": ["9a", "10", "2"], "easting": [1150, 1050, 1100], "northing": 62.0},
        index=pd.Index([2, 3, 4], name="row"),
    )
    pegs = place_pegs(table, channel, crs)
    assert pegs.index.tolist() == ["9a", "10", "2"]
    assert (pegs.index.name, pegs.crs) == ("peg", crs)
    assert pegs.geometry["10"].coords[0] == (1050.0, 62.0)


def test_what_the_club_wrote_is_carried_along(channel, crs):
    pegs = placed(
        channel,
        crs,
        (1050, 62),
        (1060, 62),
        open=[True, False],
        step_free=[None, True],
        walk_m=[150.0, np.nan],
        note=["", "behind the mill"],
    )
    assert pegs["open"].tolist() == [True, False]
    assert pegs["step_free"].tolist() == [None, True]
    assert pegs["walk_m"].tolist()[0] == 150.0
    assert pegs.loc["2", "note"] == "behind the mill"


def test_absent_columns_mean_open_and_otherwise_unknown(channel, crs):
    peg = placed(channel, crs, (1050, 62)).loc["1"]
    assert peg["open"]
    assert peg["step_free"] is None
    assert np.isnan(peg["walk_m"])
    assert peg["note"] == ""


def test_no_pegs_give_an_empty_table_with_all_columns(channel, crs):
    pegs = placed(channel, crs)
    assert len(pegs) == 0
    assert {"bank", "edge_easting", "island", "open"} <= set(pegs.columns)
