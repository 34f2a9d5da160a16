"""Channel-fitted coordinates on lines and circles whose answers are plain geometry."""

import numpy as np
import pytest
from shapely import LineString, Polygon, box

from layers.channel import TIGHTEST, Channel, scatter
from layers.errors import LayerError

R, HALF = 124.0, 11.0


@pytest.fixture
def straight(straight_line, straight_water):
    return Channel.fit(straight_line, straight_water)


def arc(turn=1.0, radius=R, half=HALF, sweep=2.5):
    """A river round the origin: anticlockwise for turn 1, clockwise for -1."""
    phi = np.linspace(0, sweep, 1000)
    path = np.column_stack([np.cos(phi), turn * np.sin(phi)]) * radius
    line = LineString(path)
    return Channel.fit(line, line.buffer(half, cap_style="flat", quad_segs=64))


def test_on_a_straight_river_chainage_and_offset_are_differences(straight):
    chainage_m, offset_m = straight.to_channel([1030.0, 1100.0], [57.0, 41.0])
    np.testing.assert_allclose(
        chainage_m, [30, 100], atol=1e-9
    )  # float arithmetic only
    np.testing.assert_allclose(offset_m, [7, -9], atol=1e-9)


def test_chainage_runs_on_beyond_both_ends(straight):
    chainage_m, offset_m = straight.to_channel([993.0, 1250.0], [52.0, 47.0])
    np.testing.assert_allclose(chainage_m, [-7, 250], atol=1e-9)
    np.testing.assert_allclose(offset_m, [2, -3], atol=1e-9)
    back = straight.to_world(chainage_m, offset_m)
    np.testing.assert_allclose(back, [[993, 1250], [52, 47]], atol=1e-9)


def test_a_straight_river_has_its_width_heading_and_no_curvature(straight):
    np.testing.assert_allclose(straight.width_m([0.0, 77.0, 200.0]), 20.0, atol=1e-9)
    np.testing.assert_allclose(
        straight.heading([0.0, 99.0]), [[1, 1], [0, 0]], atol=1e-12
    )
    np.testing.assert_allclose(straight.curvature([-5.0, 50.0, 300.0]), 0.0, atol=1e-12)
    assert straight.length_m == pytest.approx(200.0, abs=1e-9)


def test_shapes_are_kept_and_scalars_are_taken(straight):
    chainage_m, offset_m = straight.to_channel(np.full((2, 3), 1010.0), 50.0)
    assert chainage_m.shape == offset_m.shape == (2, 3)
    assert straight.to_channel(1010.0, 50.0)[0].shape == ()
    assert straight.width_m(5.0).shape == straight.curvature(5.0).shape == ()


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_on_a_circle_offset_is_radius_less_distance_and_chainage_an_arc(turn, rng):
    channel = arc(turn)
    # two windows (22 m) off the ends, where the drawn line has no other side to lean on
    phi = rng.uniform(0.4, 2.1, 500)
    inward = rng.uniform(-HALF, HALF, 500)
    place = (R - inward) * np.cos(phi), turn * (R - inward) * np.sin(phi)
    chainage_m, offset_m = channel.to_channel(*place)
    # twicing leaves R (sigma/R)^4 / 4 = 2 mm; the chord between drawn vertices 0.02 mm
    np.testing.assert_allclose(offset_m, turn * inward, atol=0.005)
    # the chainage carries the little that both ends were straightened: 0.04 m measured
    # against the arc, hence held to differences from the middle
    middle, _ = channel.to_channel(R * np.cos(1.25), turn * R * np.sin(1.25))
    np.testing.assert_allclose(chainage_m - middle, R * (phi - 1.25), atol=0.005)


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_curvature_is_positive_where_the_centre_lies_to_the_left(turn):
    curvature = arc(turn).curvature([100.0, 150.0, 200.0])
    np.testing.assert_allclose(curvature, turn / R, rtol=0.01)  # 1 m vertices


def test_a_meander_survives_the_round_trip(rng):
    along = np.arange(0.0, 700.0)
    angle = 1.2 * np.sin(2 * np.pi * along / 350)
    path = np.column_stack([np.cumsum(np.cos(angle)), np.cumsum(np.sin(angle))])
    line = LineString(path)
    channel = Channel.fit(line, line.buffer(10, cap_style="flat"))
    chainage_m, offset_m = rng.uniform(0, 680, 500), rng.uniform(-9.5, 9.5, 500)
    again = channel.to_channel(*channel.to_world(chainage_m, offset_m))
    # the foot is exact on the smooth curve: the notes ask for 0.01 m, this is rounding
    np.testing.assert_allclose(again, [chainage_m, offset_m], atol=1e-6)


def test_an_island_is_left_out_of_the_width_but_not_of_the_offset(straight_line):
    shell = [(1000, 40), (1200, 40), (1200, 60), (1000, 60)]
    island = [(1080, 48), (1120, 48), (1120, 52), (1080, 52)]
    channel = Channel.fit(straight_line, Polygon(shell, [island]))
    np.testing.assert_allclose(channel.width_m([50.0, 100.0]), [20.0, 16.0], atol=1e-9)
    np.testing.assert_allclose(channel.to_channel(1100.0, 59.0)[1], 9.0, atol=1e-9)


def test_the_width_of_a_hairpin_is_that_of_one_limb():
    line = LineString([(0, 0), (200, 0), (230, 15), (230, 35), (200, 50), (0, 50)])
    channel = Channel.fit(line, line.buffer(8, cap_style="flat"))
    np.testing.assert_allclose(channel.width_m([60.0, 100.0]), 16.0, atol=0.05)


def test_points_of_a_hairpin_belong_to_the_nearer_limb():
    line = LineString([(0, 0), (200, 0), (230, 15), (230, 35), (200, 50), (0, 50)])
    channel = Channel.fit(line, line.buffer(8, cap_style="flat"))
    chainage_m, offset_m = channel.to_channel([50.0, 50.0], [6.0, 44.0])
    assert chainage_m[0] == pytest.approx(
        50, abs=0.5
    )  # bends are far: smoothing is nil
    assert chainage_m[1] > channel.length_m - 51
    np.testing.assert_allclose(offset_m, [6.0, 6.0], atol=0.01)


def test_wet_cells_come_row_by_row_with_both_kinds_of_place(straight, straight_grid):
    cells = straight.wet_cells(straight_grid)
    assert len(cells) == 200 * 20
    np.testing.assert_allclose(cells.chainage_m, cells.easting - 1000, atol=1e-9)
    np.testing.assert_allclose(cells.offset_m, cells.northing - 50, atol=1e-9)
    assert cells.offset_m[0] == pytest.approx(9.5)  # row 0 is north, the left bank


def test_scatter_lays_values_on_the_grid_and_leaves_the_rest_unknown(
    straight_line, straight_grid
):
    channel = Channel.fit(straight_line, box(1000, 45, 1200, 55))
    cells = channel.wet_cells(straight_grid)
    raster = scatter(cells, cells.offset_m, straight_grid)
    assert raster.dtype == np.float32
    assert np.isnan(raster[:5]).all()
    assert np.isnan(raster[15:]).all()
    np.testing.assert_allclose(raster[5:15, 7], np.arange(4.5, -5, -1), atol=1e-6)


def test_scatter_refuses_values_that_are_not_one_a_cell(straight, straight_grid):
    cells = straight.wet_cells(straight_grid)
    with pytest.raises(LayerError, match=r"\(3,\) values for 4000 wet cells"):
        scatter(cells, np.zeros(3), straight_grid)


def test_a_line_without_length_is_refused(straight_water):
    with pytest.raises(LayerError, match=r"centreline is 0\.0 m long"):
        Channel.fit(LineString([(1, 1), (1, 1)]), straight_water)


def test_water_without_area_is_refused(straight_line):
    with pytest.raises(LayerError, match=r"water's area is 0\.0 m2"):
        Channel.fit(straight_line, Polygon())


def test_tightness_of_an_arc_is_half_width_over_radius():
    # the free ends of the drawn line bend a little more than the circle
    assert arc(radius=40, half=12).tightness == pytest.approx(12 / 40, rel=0.1)


def test_a_bend_tighter_than_the_river_is_wide_keeps_its_order_along_both_banks():
    # radius 0.8 of the half width: lines across would meet in the water
    corner = [(0, 0), (100, 0), (100, 100)]
    line = LineString(corner).buffer(16, quad_segs=16)
    inner = LineString([(0, 12), (78, 12), (84, 14), (88, 22), (88, 100)])
    outer = LineString([(0, -12), (92, -12), (106, -7), (112, 8), (112, 100)])
    water = Polygon([*outer.coords, *inner.coords[::-1]])
    phi = np.linspace(-np.pi / 2, 0, 20)
    bend = np.column_stack([90 + 9.6 * np.cos(phi), 9.6 + 9.6 * np.sin(phi)])
    channel = Channel.fit(LineString([(0, 0), *bend, (100, 100)]), water)
    assert line.contains(channel.centreline)
    assert channel.tightness > TIGHTEST
    for bank in (inner, outer):
        points = [bank.interpolate(d) for d in np.linspace(3, bank.length - 3, 200)]
        chainage_m, _ = channel.to_channel([p.x for p in points], [p.y for p in points])
        assert np.diff(chainage_m).min() > 0
        assert np.diff(chainage_m).max() < 10  # no seam: steps are 1 m along the bank
