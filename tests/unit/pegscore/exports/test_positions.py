"""Positions that people can check."""

from __future__ import annotations

import numpy as np
import pytest
from convertbng.cutil import convert_lonlat
from geopandas import GeoSeries
from pyproj import CRS

from pegscore.exports.positions import accuracy_note, degrees, grid_reference
from pegscore.prints.peg_cards import degrees_words, shortened_lines

GRID = CRS("EPSG:27700")


@pytest.mark.parametrize(
    ("easting", "northing", "expected"),
    [
        # the false origin's own square, and the one with the mapping agency's
        # worked example (A guide to coordinate systems in Great Britain, from memory)
        (651409.903, 313177.270, "TG 51409 13177"),
        (0.0, 0.0, "SV 00000 00000"),
        (439668.9, 1175316.4, "HU 39668 75316"),
    ],
)
def test_grid_letters_are_those_of_the_mapping_agency(easting, northing, expected):
    assert grid_reference(easting, northing, GRID) == expected


def test_a_place_beyond_the_lettered_squares_gets_plain_coordinates():
    told = grid_reference(-2_000_000.0, 300_000.0, GRID)
    assert told == "-2000000 E 300000 N (EPSG:27700)"


def test_a_system_without_a_code_is_called_by_its_name():
    own = CRS.from_proj4("+proj=tmerc +lat_0=50 +lon_0=3 +ellps=GRS80 +units=m")
    assert own.name in grid_reference(10.0, 20.0, own)


def test_degrees_agree_with_another_library_within_the_stated_accuracy():
    easting, northing = 430000.0, 380000.0
    mine = degrees(GeoSeries.from_xy([easting], [northing], crs=GRID))[0]
    longitude, latitude = convert_lonlat([easting], [northing])
    away_m = np.hypot(
        (mine[0] - longitude[0]) * 111_320 * np.cos(np.radians(mine[1])),
        (mine[1] - latitude[0]) * 111_320,
    )
    # the reference page measured 5.4 m at worst without the grid-shift file
    assert away_m < 6.0


def test_the_note_says_so_when_the_finer_transformation_is_missing():
    note = accuracy_note(GRID)
    assert "to within about" in note
    assert ("not installed" in note) or ("1 m" in note)


def test_a_system_that_needs_no_shift_file_mentions_none():
    assert "not installed" not in accuracy_note(CRS("EPSG:32630"))


@pytest.mark.parametrize(
    ("north", "east", "expected"),
    [
        (52.6575977, 1.7179215, "52.65760° N 1.71792° E"),
        (-33.5, -70.25, "33.50000° S 70.25000° W"),
    ],
)
def test_degrees_name_their_hemispheres(north, east, expected):
    assert degrees_words({"latitude": north, "longitude": east}) == expected


def test_a_card_too_small_for_its_warnings_says_so():
    told = shortened_lines("mind the soft edge and the weir. " * 60)
    assert told.endswith("and more: read the map before you fish")
