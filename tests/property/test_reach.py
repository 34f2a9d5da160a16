"""What holds for the swims of any bending river with islands."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString
from shapely.affinity import affine_transform

from layers.channel import Channel
from pegscore.pegs import place_pegs
from pegscore.reach import METHODS, swims

SAME_M2 = 0.05
"""Two swims of 100 to 400 m2 are the same: a millimetre along their edges."""


@st.composite
def rivers(draw):
    """Draw a sine river of 300 m with an island in it, and eight seats along it."""
    amplitude = draw(st.floats(0, 25))
    half_width = draw(st.floats(6, 18))
    along = np.linspace(0, 300, 301)
    line = LineString(np.column_stack([along, amplitude * np.sin(along / 48)]))
    middle = line.interpolate(draw(st.floats(0.3, 0.7)), normalized=True)
    island = middle.buffer(draw(st.floats(0.5, half_width / 2)))
    water = line.buffer(half_width, cap_style="flat") - island
    seats = np.array([5, 40, 90, 140, 190, 240, 260, 295]) / 300
    shores = [line.parallel_offset(half_width + 1, side) for side in ("left", "right")]
    points = [
        shores[number % 2].interpolate(share, normalized=True)
        for number, share in enumerate(seats)
    ]
    return line, water, shapely.get_coordinates(points)


pytestmark = pytest.mark.slow

methods = st.sampled_from(sorted(METHODS))


def laid_out(river, crs, method, *, moved=(1, 0, 0, 1, 0, 0)):
    """Return the pegs and swims of a river after an affine map of the plane."""
    line, water, seats = river
    channel = Channel.fit(affine_transform(line, moved), affine_transform(water, moved))
    seats = np.array(
        [affine_transform(shapely.Point(s), moved).coords[0] for s in seats]
    )
    table = pd.DataFrame(
        {
            "peg": [str(number) for number in range(len(seats))],
            "easting": seats[:, 0],
            "northing": seats[:, 1],
        }
    )
    pegs = place_pegs(table, channel, crs)
    return pegs, swims(pegs, channel, method=method), channel


def assert_same_after(found, expected, moved):
    expected = expected.affine_transform(moved)
    assert (found.symmetric_difference(expected, align=True).area < SAME_M2).all()


@given(river=rivers(), method=methods)
def test_a_swim_is_one_valid_piece_of_the_water(crs, river, method):
    _, found, channel = laid_out(river, crs, method)
    assert found.is_valid.all()
    assert (found.geom_type == "Polygon").all()
    assert (found.difference(channel.water).area < 1e-6).all()


@given(river=rivers(), method=methods)
def test_a_swim_begins_as_far_from_the_edge_as_the_method_says(crs, river, method):
    pegs, found, _ = laid_out(river, crs, method)
    edge = shapely.points(pegs["edge_easting"], pegs["edge_northing"])
    gap_m = shapely.distance(found.to_numpy(), edge)[~found.is_empty]
    # 0.1 m: the water's edge runs on in a curve between two steps
    assert (gap_m > METHODS[method].out_from_m - 0.1).all()


@given(river=rivers(), method=methods)
def test_no_line_from_the_edge_to_a_swim_crosses_an_island(crs, river, method):
    pegs, found, channel = laid_out(river, crs, method)
    for peg, swim in zip(pegs.itertuples(), found, strict=True):
        targets = shapely.get_coordinates(swim.buffer(-0.01))
        eye = np.broadcast_to([peg.edge_easting, peg.edge_northing], targets.shape)
        sights = shapely.linestrings(np.stack([eye, targets], axis=1))
        for ring in channel.water.interiors:
            assert not shapely.crosses(sights, shapely.Polygon(ring)).any()


@given(river=rivers(), method=methods)
def test_a_mirrored_river_has_mirrored_swims_on_the_other_bank(crs, river, method):
    flip = (1, 0, 0, -1, 0, 0)
    pegs, found, _ = laid_out(river, crs, method)
    other_pegs, other, _ = laid_out(river, crs, method, moved=flip)
    assert (pegs["bank"] != other_pegs["bank"]).all()
    assert_same_after(other, found, flip)


@given(river=rivers(), method=methods, degrees=st.floats(0, 360))
def test_a_turned_river_has_the_same_swims_turned(crs, river, method, degrees):
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = (cos, -sin, sin, cos, 440_000.0, 200_000.0)
    pegs, found, _ = laid_out(river, crs, method)
    other_pegs, other, _ = laid_out(river, crs, method, moved=turn)
    assert pegs["bank"].equals(other_pegs["bank"])
    assert_same_after(other, found, turn)
