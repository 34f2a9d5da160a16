"""What the planning board is given of the banks."""

from __future__ import annotations

import base64
import importlib.util
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
from pyproj import Transformer
from shapely import LineString, Point

from pegscore.board import line_clearance_m
from pegscore.pages.board_payload import board_payload


@pytest.fixture(scope="module")
def made():
    path = Path(__file__).parents[2] / "map_world.py"
    spec = importlib.util.spec_from_file_location("map_world", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    board = module.board_for(module.world(), places=60)
    return module.world(edition="committee", board=board)


def undone(differences) -> np.ndarray:
    return np.cumsum(differences)


def test_the_nearest_line_counts_and_no_line_is_unknown():
    seats = gpd.GeoDataFrame(geometry=[Point(0, 0), Point(30, 40)], crs="EPSG:27700")
    places = gpd.GeoDataFrame(
        {"kind": ["overhead_line", "overhead_line", "weir"]},
        geometry=[
            LineString([(30, 0), (30, 30)]),
            LineString([(0, 99), (1, 99)]),
            Point(1, 1),
        ],
        crs="EPSG:27700",
    )
    assert line_clearance_m(seats, places).tolist() == [30.0, 10.0]
    assert np.isnan(line_clearance_m(seats, places[places["kind"] == "weir"])).all()
    assert np.isnan(line_clearance_m(seats, None)).all()


def test_places_are_told_to_the_millimetre_in_metres_and_degrees(made):
    payload = board_payload(made, [0.6, 1.2])
    table = made.board.candidates.table
    east, north = (undone(steps) / 1000 for steps in payload["metres"])
    np.testing.assert_allclose(east, table.geometry.x, rtol=0, atol=0.0006)
    np.testing.assert_allclose(north, table.geometry.y, rtol=0, atol=0.0006)
    latitude, longitude = (undone(steps) / 1e8 for steps in payload["at"])
    to_metres = Transformer.from_crs("EPSG:4326", made.crs, always_xy=True)
    back = np.column_stack(to_metres.transform(longitude, latitude))
    # half a step of 1e-8 degrees is 0.6 mm, and the way there and back a little more
    np.testing.assert_allclose(back, np.column_stack([east, north]), atol=0.003)


def test_scores_come_back_within_half_a_step(made):
    payload = board_payload(made, [0.6, 1.2])
    held = np.frombuffer(base64.b64decode(payload["scores"][2][1]), np.uint8)
    scores = (held.astype(float) - 1) * payload["step"]
    np.testing.assert_allclose(
        scores, made.board.candidates.scores[1, 2], rtol=0, atol=payload["step"] / 2
    )
    assert len(payload["factors"][0][0]) == 3


def test_facing_places_are_runs_of_neighbours(made):
    payload = board_payload(made, [0.6, 1.2])
    # of thirty a bank, each faces the one opposite and its two neighbours
    assert payload["facing"][0] == [0, 30, 2]
    assert payload["facing"][5] == [5, 34, 3]


def test_the_members_get_no_board(made):
    assert board_payload(replace(made, edition="members"), [0.6, 1.2]) is None
