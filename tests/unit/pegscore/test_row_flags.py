"""Rows that lean on what was not measured say so; a broken ranking is not shown."""

from __future__ import annotations

import geopandas as gpd
import pandas as pd
import pytest
from pyproj import CRS
from shapely import box

from layers.grid import Bounds, Grid
from pegscore.curves import Curve, CurvePoint
from pegscore.errors import PegError
from pegscore.row_flags import beyond_survey, has_source, must_be_sound

CRS_M = CRS("EPSG:27700")
CURVE = Curve(
    (
        CurvePoint(0.0, 0.0, "P"),
        CurvePoint(1.0, 1.0, "M"),
        CurvePoint(2.0, 1.0, "P"),
        CurvePoint(3.0, 0.2, "C"),
        CurvePoint(4.0, 0.0, "P"),
    )
)


@pytest.mark.parametrize(
    ("low", "high", "sourced"),
    [
        (0.2, 0.4, True),  # between 0 and the sourced point
        (1.5, 1.6, True),
        (2.2, 2.8, False),
        (3.5, 9.0, False),
        (5.0, 9.0, False),  # beyond the last point, which is a proposal
        (0.5, 3.5, True),
    ],
)
def test_a_range_is_sourced_if_a_point_that_shapes_it_is(low, high, sourced):
    assert has_source(CURVE, low, high) is sourced


def test_a_swim_far_from_every_sounding_lies_beyond_the_survey():
    grid = Grid.covering(
        Bounds(west=0, east=300, south=0, north=20), cell_m=1.0, crs=CRS_M
    )
    swims = [box(0, 0, 20, 20), box(40, 0, 65, 20), box(200, 0, 220, 20)]
    places = gpd.GeoSeries(swims, index=list("abc"), crs=CRS_M)
    pegs = gpd.GeoDataFrame({"swim": places})
    soundings = pd.DataFrame({"easting": [10.0, 20.0], "northing": [10.0, 10.0]})
    # of b, 40 to 65 m, less than the 10 m up to 50 m is within 30 m of 20 m
    assert beyond_survey(grid, pegs, soundings).tolist() == [False, True, True]
    assert not beyond_survey(grid, pegs, None).any()


def ranking(**changed) -> pd.DataFrame:
    table = {"peg": ["1", "2"], "low": [0.1, 0.2], "score": [0.5, 0.5]}
    return pd.DataFrame({**table, "high": [0.9, 0.8], **changed})


PEGS = gpd.GeoDataFrame(index=["1", "2"])


def test_a_sound_ranking_passes_and_so_does_a_peg_without_a_score():
    must_be_sound(ranking(), PEGS, 1)
    nothing = [float("nan"), 0.5]
    must_be_sound(
        ranking(score=nothing, low=[float("nan"), 0.1], high=[float("nan"), 0.9]),
        PEGS,
        1,
    )


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"high": [0.4, 0.8]}, "does not hold its score"),
        ({"high": [1.4, 0.8]}, "outside 0 to 1"),
        ({"low": [float("nan"), 0.1]}, "without its interval"),
        ({"peg": ["1", "1"]}, "left out or told twice"),
    ],
)
def test_a_ranking_that_breaks_its_rules_is_not_shown(changed, words):
    with pytest.raises(PegError, match=words):
        must_be_sound(ranking(**changed), PEGS, 1)
