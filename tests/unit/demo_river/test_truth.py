"""The fictional river's truth against arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

GRID_M = 0.05  # coordinates in the files are rounded; a few centimetres at most
WORDS = {"silt", "clay", "sand", "gravel", "cobble", "boulder", "bedrock"}


def test_the_water_is_one_valid_polygon_with_one_island(truth):
    assert truth.water.is_valid
    assert len(truth.water.interiors) == 1
    # Area by hand: width summed along the axis (a symmetric strip has its axis'
    # length times its width, whatever the bends) less an ellipse of 42 x 4.75 m
    s = np.arange(0.5, 1500, 1.0)
    by_hand = (2 * truth.half_width_m(s)).sum() - np.pi * 42 * 4.75
    # corners 4 m apart cut a little off each bend
    assert truth.water.area == pytest.approx(by_hand, rel=0.003)


def test_the_channel_file_is_the_truth_to_a_few_centimetres(truth, read_features):
    parts = {
        properties["part"]: shape
        for properties, shape in read_features("channel.geojson")
    }
    assert shapely.hausdorff_distance(parts["water"], truth.water) < GRID_M
    # a chord of 10 m on the tightest bend (radius over 100 m) is 0.125 m off it
    assert shapely.hausdorff_distance(parts["centreline"], truth.centreline) < 0.125
    start, end = (shapely.Point(parts["centreline"].coords[i]) for i in (0, -1))
    assert truth.surface_m(truth.to_channel(start.x, start.y)[0]) > truth.surface_m(
        truth.to_channel(end.x, end.y)[0]
    )


def test_bends_are_no_tighter_than_two_widths(truth):
    s = np.linspace(0, truth.length_m, 400)
    turning = np.abs(truth.curvature(s)) * 2 * truth.half_width_m(s)
    assert turning.max() < 0.5
    turns = np.sign(truth.curvature(np.linspace(20, 1480, 400)))
    assert (np.diff(turns) != 0).sum() == 3  # left, right, left, right: four bends


def test_places_keep_their_channel_coordinates_there_and_back(truth):
    s = np.linspace(1, 1499, 300)
    n = np.linspace(-0.98, 0.98, 300) * truth.half_width_m(s)
    back = truth.to_channel(*truth.to_world(s, n))
    np.testing.assert_allclose(back[0], s, rtol=0, atol=1e-3)
    np.testing.assert_allclose(back[1], n, rtol=0, atol=1e-3)


def test_positive_offsets_lie_to_the_left_of_the_flow(truth):
    s = np.linspace(5, 1490, 50)
    here, ahead, aside = (
        np.array(truth.to_world(s + ds, dn)) for ds, dn in ((0, 0), (1, 0), (0, 1))
    )
    (dx, dy), (ax, ay) = ahead - here, aside - here
    assert (dx * ay - dy * ax > 0.9).all()  # the cross product of unit vectors


def test_the_surface_falls_by_its_slope_and_meets_the_board(truth):
    assert truth.surface_m(1180.0) == pytest.approx(20.0 + 0.60, abs=1e-12)
    fall = truth.surface_m(100.0) - truth.surface_m(1100.0)
    assert fall == pytest.approx(1000 * 0.0006, abs=1e-12)
    raised = truth.surface_m(300.0, 0.95) - truth.surface_m(300.0)
    assert raised == pytest.approx(0.35, abs=1e-12)


def test_depth_is_nothing_at_every_edge_and_something_inside(truth):
    edge = np.array(truth.water.exterior.coords)
    rim = np.array(truth.water.interiors[0].coords)
    for line in (edge, rim):
        s, n = truth.to_channel(*line.T)
        inside = (s > 0.1) & (s < truth.length_m - 0.1)  # the ends are cuts, no banks
        # a corner's place is good to 1e-6 m, but a bank may be as steep as a root
        np.testing.assert_allclose(truth.depth_m(s, n)[inside], 0, rtol=0, atol=0.02)
    s = np.linspace(5, 1495, 200)
    for side in (-1, 1):
        near = truth.depth_m(s, side * (truth.half_width_m(s) - 1.0))
        assert ((near > 0.03) & (near < 1.8)).all()


def test_pools_and_riffles_alternate_five_to_seven_widths_apart(truth):
    s = np.arange(0, 1500, 2.0)
    share = np.linspace(-1, 1, 61)
    deepest = truth.depth_m(s[:, None], share * truth.half_width_m(s)[:, None]).max(
        axis=1
    )
    smooth = np.convolve(deepest, np.ones(21) / 21, mode="same")[20:-20]
    peaks = np.flatnonzero((smooth[1:-1] > smooth[:-2]) & (smooth[1:-1] > smooth[2:]))
    tall = peaks[smooth[peaks + 1] > 1.2]
    spacing = (s[tall[-1]] - s[tall[0]]) / (len(tall) - 1)
    width = 2 * truth.half_width_m(s).mean()
    assert 5 < spacing / width < 7
    assert 1.4 < np.sort(smooth[peaks + 1])[-4] < 2.8
    assert smooth.min() < 0.9


def test_the_bottom_is_a_whole_everywhere(script, truth):
    cells = script.sample_truth(truth, 5.0)
    shares = truth.substrate_shares(cells["chainage"], cells["offset"])
    assert set(shares) <= WORDS
    np.testing.assert_allclose(sum(shares.values()), 1, rtol=0, atol=1e-12)
    assert min(share.min() for share in shares.values()) >= 0


@pytest.mark.parametrize("level_m", [0.4, 0.6, 0.95])
def test_every_section_carries_the_discharge(truth, level_m):
    wanted = 16.0 * (level_m + 0.35) ** 1.7  # the rating, by hand
    for s in (101.0, 333.0, 745.0, 1201.0):
        n = np.linspace(-1, 1, 2001) * truth.half_width_m(s)
        at = np.full_like(n, s)
        depth = np.maximum(truth.depth_m(at, n, level_m), 0)
        carried = np.trapezoid(depth * truth.speed_m_s(at, n, level_m), n)
        # speed is interpolated between sections 2 m and verticals 0.4 m apart,
        # which is coarsest at the island's rim
        assert carried == pytest.approx(wanted, rel=0.03)


def test_speeds_are_a_lowland_rivers(script, truth):
    cells = script.sample_truth(truth, 3.0)
    speed = truth.speed_m_s(cells["chainage"], cells["offset"])
    assert np.isfinite(speed).all()
    assert speed.min() >= 0
    slow, quick = np.percentile(speed, [5, 95])
    assert 0.1 < slow < 0.3
    assert 0.7 < quick < 0.95
    assert speed.max() < 1.3


def test_another_number_is_another_river(script, truth):
    other = script.make_truth(8)
    assert abs(other.bed_m(500.0, 2.0) - truth.bed_m(500.0, 2.0)) > 1e-3
