"""Beds whose shape is known: flat, tilted, beside a sloping bank and a wall."""

import numpy as np
import pandas as pd
import pytest
from shapely import LineString

from layers.bankline import bank_samples
from layers.bathymetry import interpolate_bed
from layers.channel import Channel
from layers.errors import LayerError
from layers.grid import Bounds, Grid
from layers.samples import Samples


@pytest.fixture(scope="module")
def bend():
    """A river of 20 m on a bend of 60 m radius, about 188 m long."""
    phi = np.linspace(0, np.pi, 300)
    line = LineString(np.column_stack([60 * np.cos(phi), 60 * np.sin(phi)]))
    return Channel.fit(line, line.buffer(10, cap_style="flat", quad_segs=32))


@pytest.fixture(scope="module")
def bend_cells(bend, crs):
    grid = Grid.covering(Bounds.of(bend.water), cell_m=2.0, crs=crs)
    return bend.wet_cells(grid)


def points_of(channel, bed_m, *, chainage_m=None, offset_m=None, **columns):
    """Soundings on cross-lines 15 m apart, or where told; bed_m is a function."""
    if chainage_m is None:
        lines = np.arange(4.0, channel.length_m, 15.0)
        chainage_m, offset_m = (
            part.ravel() for part in np.meshgrid(lines, np.arange(-9.0, 10, 2.0))
        )
        order = np.argsort(chainage_m, kind="stable")
        chainage_m, offset_m = chainage_m[order], offset_m[order]
    easting, northing = channel.to_world(chainage_m, offset_m)
    return pd.DataFrame(
        {
            "easting": easting,
            "northing": northing,
            "chainage_m": chainage_m,
            "offset_m": offset_m,
            "bed_m": bed_m(chainage_m, offset_m),
            "sd_m": 0.05,
            "spike": False,
        }
    ).assign(**columns)


def test_a_flat_bed_is_met_exactly(bend, bend_cells):
    bed = interpolate_bed(
        points_of(bend, lambda s, n: 17.5 + 0 * (s + n)), bend, bend_cells
    )
    np.testing.assert_allclose(bed.bed_m, 17.5, atol=1e-8)  # rounding of the solver


def test_a_bed_tilted_along_and_across_is_met_exactly(bend, bend_cells):
    def tilted(s, n):
        return 20 - 0.01 * s + 0.05 * n

    bed = interpolate_bed(points_of(bend, tilted), bend, bend_cells)
    expected = tilted(bend_cells.chainage_m, bend_cells.offset_m)
    np.testing.assert_allclose(bed.bed_m, expected, atol=1e-7)


def test_every_known_bed_has_an_error_and_no_unknown_one(bend, bend_cells, rng):
    points = points_of(bend, lambda s, n: 18 - 1.5 * np.exp(-((n / 5) ** 2)) + 0 * s)
    points["bed_m"] += rng.normal(0, 0.05, len(points))
    points = points[points["chainage_m"] < 100]
    bed = interpolate_bed(points, bend, bend_cells)
    known = np.isfinite(bed.bed_m)
    assert np.array_equal(known, np.isfinite(bed.bed_sd_m))
    assert (bed.bed_sd_m[known] > 0).all()


def test_beyond_the_last_line_by_more_than_a_spacing_the_bed_is_unknown(
    bend, bend_cells
):
    points = points_of(bend, lambda s, n: 18 + 0 * (s + n))
    last_m = 4 + 15 * 5
    bed = interpolate_bed(points[points["chainage_m"] <= last_m], bend, bend_cells)
    known = np.isfinite(bed.bed_m)
    assert known[bend_cells.chainage_m < last_m + 15 - 0.01].all()
    assert not known[bend_cells.chainage_m > last_m + 15 + 0.01].any()
    assert any("too far from soundings" in note for note in bed.notes)


def test_a_wide_gap_inside_the_survey_is_unknown_too(bend, bend_cells):
    points = points_of(bend, lambda s, n: 18 + 0 * (s + n))
    gone = (points["chainage_m"] > 50) & (points["chainage_m"] < 150)
    bed = interpolate_bed(points[~gone], bend, bend_cells)
    # lines at 49 and 154 m stay: unknown beyond twice 15 m from either
    gap_m = np.minimum(bend_cells.chainage_m - 49, 154 - bend_cells.chainage_m)
    assert np.isnan(bed.bed_m[gap_m > 30.1]).all()
    assert np.isfinite(bed.bed_m[gap_m < 29.9]).all()


def test_spikes_and_unknown_beds_do_not_touch_the_bed(bend, bend_cells):
    points = points_of(bend, lambda s, n: 18 + 0 * (s + n))
    points.loc[30, ["bed_m", "spike"]] = [5.0, True]
    points.loc[31, "bed_m"] = np.nan
    bed = interpolate_bed(points, bend, bend_cells)
    np.testing.assert_allclose(bed.bed_m, 18.0, atol=1e-8)
    assert any(note.startswith("1 soundings stood out") for note in bed.notes)


def test_the_order_of_the_soundings_does_not_matter(bend, bend_cells, rng):
    points = points_of(bend, lambda s, n: 18 + np.sin(s / 9) + 0.01 * n**2)
    points["bed_m"] += rng.normal(0, 0.05, len(points))
    mixed = points.iloc[rng.permutation(len(points))]
    one = interpolate_bed(points, bend, bend_cells)
    other = interpolate_bed(mixed, bend, bend_cells)
    assert one.method == other.method
    np.testing.assert_allclose(one.bed_m, other.bed_m, atol=1e-9)
    np.testing.assert_allclose(one.bed_sd_m, other.bed_sd_m, atol=1e-9)


def test_ten_echoes_a_metre_do_not_crowd_out_the_next_line(bend, bend_cells):
    def shape(s, n):
        return 18 + 0.02 * s + 0.01 * n**2

    lines = np.arange(4.0, bend.length_m, 15.0)
    along, across = (
        np.repeat(lines, 190),
        np.tile(np.arange(-9.5, 9.5, 0.1), len(lines)),
    )
    points = points_of(bend, shape, chainage_m=along, offset_m=across)
    bed = interpolate_bed(points, bend, bend_cells)
    between = (np.abs(bend_cells.offset_m) < 9) & (bend_cells.chainage_m > 4)
    between &= bend_cells.chainage_m < lines[-1]
    expected = shape(bend_cells.chainage_m, bend_cells.offset_m)
    # averaging squares of 0.8 m of a parabola moves it by 0.01 * 0.8**2 / 12 m
    np.testing.assert_allclose(bed.bed_m[between], expected[between], atol=0.02)


def test_the_choice_is_told_with_all_its_trials(bend, bend_cells, rng):
    points = points_of(bend, lambda s, n: 18 - 1.5 * np.exp(-((n / 5) ** 2)) + 0 * s)
    points["bed_m"] += rng.normal(0, 0.05, len(points))
    bed = interpolate_bed(points, bend, bend_cells)
    assert str(bed.method) in bed.notes[0]
    assert "triangles in x, y" in bed.notes[1]
    assert bed.facts["lines"] == 13  # 4, 19, ... 184 m
    assert bed.facts["method"] == str(bed.method)


def test_a_bed_the_same_all_along_is_best_known_along_the_river(bend, bend_cells, rng):
    points = points_of(bend, lambda s, n: 18 - 1.5 * np.exp(-((n / 5) ** 2)) + 0 * s)
    points["bed_m"] += rng.normal(0, 0.02, len(points))
    bed = interpolate_bed(points, bend, bend_cells)
    missed = {str(trial.method): trial.rmse_m for trial in bed.trials}
    assert bed.method.stretch is not None
    assert missed[str(bed.method)] < 0.5 * missed["triangles in x, y"]


def test_too_few_soundings_are_refused_with_their_number(bend, bend_cells):
    points = points_of(bend, lambda s, n: 18 + 0 * (s + n)).iloc[:12]
    points["spike"] = np.arange(12) < 4
    with pytest.raises(LayerError, match="8 usable soundings of 12"):
        interpolate_bed(points, bend, bend_cells)


def sloping(s, n):
    """Water's edge at 20 m, banks falling 1 in 3 at first, 1.6 m deep amid."""
    return 18.4 + 1.6 * (n / 10) ** 2 + 0 * s


def wall(s, n):
    return 18.4 + 0 * (s + n)


def at_20_m(chainage_m):
    return np.full(np.shape(chainage_m), 20.0)


def test_edge_points_are_taken_beside_a_sloping_bank_and_not_beside_a_wall(bend):
    found = [
        len(bank_samples(bend, at_20_m, Samples.of(points_of(bend, shape))))
        for shape in (sloping, wall)
    ]
    # 2 banks of about 188 m, 20 m apart, less the ends
    assert 12 <= found[0] <= 20
    assert found[1] == 0


def test_the_waters_edge_mends_a_sloping_bank(bend, bend_cells, rng):
    # soundings stop 2.5 m short of the edge
    lines = np.arange(4.0, bend.length_m, 15.0)
    places = np.meshgrid(lines, np.arange(-7.5, 8, 2.5), indexing="ij")
    points = points_of(
        bend, sloping, chainage_m=places[0].ravel(), offset_m=places[1].ravel()
    )
    points["bed_m"] += rng.normal(0, 0.05, len(points))
    truth = sloping(bend_cells.chainage_m, bend_cells.offset_m)
    edge = np.abs(bend_cells.offset_m) > 8.5
    miss_m = []
    for elevation in (None, at_20_m):
        bed = interpolate_bed(points, bend, bend_cells, edge_elevation_m=elevation)
        miss_m.append(np.sqrt(np.mean((bed.bed_m - truth)[edge] ** 2)))
    assert bed.method.edge
    assert miss_m[1] < 0.8 * miss_m[0]


def test_a_wall_keeps_its_depth_at_the_foot(bend, bend_cells):
    bed = interpolate_bed(
        points_of(bend, wall), bend, bend_cells, edge_elevation_m=at_20_m
    )
    np.testing.assert_allclose(bed.bed_m, 18.4, atol=1e-8)
