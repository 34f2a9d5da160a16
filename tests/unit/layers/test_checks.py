"""Which way the river runs, by floats, by banks and by the bed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from shapely import LineString

from layers.checks import check_direction, float_witness, surest_rise
from layers.placement import Stretch
from layers.problems import ProblemList

AXIS = LineString([(0, 0), (500, 0)])
FILES = {"channel": "channel.gpkg", "speeds": "speeds.csv"}


def floats(*moved_m: float) -> pd.DataFrame:
    start = np.full(len(moved_m), 250.0)
    return pd.DataFrame(
        {
            "kind": "float",
            "start_easting": start,
            "start_northing": 0.0,
            "end_easting": start + moved_m,
            "end_northing": 0.0,
        },
        index=pd.RangeIndex(2, 2 + len(moved_m), name="row"),
    )


def pegs(*banks: str) -> pd.DataFrame:
    """Pegs that all lie on the left of ``AXIS``."""
    return pd.DataFrame({"easting": 100.0, "northing": 12.0, "bank": banks})


def elevations(slope: float) -> pd.DataFrame:
    along_m = np.linspace(0, 500, 60)
    bed_m = 10 + slope * along_m + 0.1 * np.sin(along_m)
    return pd.DataFrame(
        {
            "easting": along_m,
            "northing": 0.0,
            "bed_m": bed_m,
            "depth_m": np.nan,
            "level_m": 0.6,
        }
    )


def codes(**tables: pd.DataFrame) -> list[str]:
    problems = ProblemList()
    check_direction(dict(tables), Stretch(centreline=AXIS), FILES, problems)
    return [problem.code for problem in problems.found]


def test_floats_are_counted_by_where_they_went():
    assert float_witness(floats(20, -5, 8, 0), AXIS) == (1, 3)


def test_points_are_no_floats():
    assert float_witness(floats(20).assign(kind="mean"), AXIS) == (0, 0)


def test_floats_against_the_line_accuse_it():
    assert codes(speeds=floats(-20, -25, -30)) == ["centreline-upstream"]


def test_one_float_alone_accuses_nothing():
    assert codes(speeds=floats(-20)) == []


def test_floats_are_believed_before_banks_and_bed():
    found = codes(
        speeds=floats(20, 25, 30),
        pegs=pegs("right", "right", "right"),
        soundings=elevations(0.005),
    )
    assert found == []


def test_a_float_in_an_eddy_is_only_warned_of():
    assert codes(speeds=floats(20, 25, -3)) == ["float-upstream"]


def test_banks_are_believed_before_the_bed():
    left = pegs("left", "left", "left")
    assert codes(pegs=left, soundings=elevations(0.005)) == []
    assert codes(pegs=pegs("right", "right", "right")) == ["centreline-upstream"]


@pytest.mark.parametrize("slope", [-0.005, 0.0])
def test_a_bed_that_falls_or_lies_level_accuses_nothing(slope: float):
    assert codes(soundings=elevations(slope)) == []


def test_a_bed_that_rises_accuses_the_line():
    assert codes(soundings=elevations(0.005)) == ["centreline-upstream"]


def test_one_hole_does_not_make_a_trend():
    bed = elevations(0.0)
    bed.loc[:8, "bed_m"] -= 3  # an eighth of the stretch
    assert codes(soundings=bed) == []


def test_soundings_at_one_place_have_no_trend():
    assert surest_rise(np.zeros(40), np.arange(40.0)) == 0.0
