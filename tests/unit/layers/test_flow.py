"""Depth and speed from a bed and a level, in waters with known answers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from shapely import LineString, Polygon, affinity, box

from layers.channel import Channel
from layers.errors import LayerError
from layers.flow import FlowField, solve_flow
from layers.grid import Bounds, Grid
from layers.river import Rating
from layers.waterline import Waterline

TEN = Rating(a=10.0, b=1.0, offset_m=0.0)
"""10 m3/s at level 1 and in proportion."""
LINE = LineString([(0, 0), (200, 0)])
WATER = box(0, -10, 200, 10)


@dataclass
class Trial:
    """A water of which only the bed and the evidence differ."""

    channel: Channel
    grid: Grid
    cells: object

    def solve(self, bed_m, **given) -> FlowField:
        bed_m = np.broadcast_to(np.asarray(bed_m, float), self.cells.rows.shape).copy()
        given.setdefault("bed_sd_m", np.zeros(bed_m.shape))
        slope = given.pop("slope", 0.0)
        line = Waterline(gauge_chainage_m=0.0, zero_m=10.0, slope=slope, note="")
        defaults = {
            "shares": None,
            "speeds": None,
            "rating": None,
            "flows": None,
            "level_m": 1.0,
        }
        return solve_flow(
            cells=self.cells,
            bed_m=bed_m,
            channel=self.channel,
            grid=self.grid,
            waterline=line,
            **(defaults | given),
        )

    def near(self, easting, northing):
        east = self.cells.easting - easting
        return int(np.hypot(east, self.cells.northing - northing).argmin())


def trial(line, water, crs, cell_m=1.0):
    channel = Channel.fit(line, water)
    grid = Grid.covering(Bounds.of(water), cell_m=cell_m, crs=crs)
    return Trial(channel, grid, channel.wet_cells(grid))


@pytest.fixture(scope="module")
def straight(crs):
    return trial(LINE, WATER, crs)


PRIOR = 5e-4
"""What slope and default roughness count for beside three measured speeds."""


def floats(speed_m_s, *, level_m=1.0, kind="surface", height_frac=np.nan, northing=0.0):
    """Surface speeds at three places along the straight water."""
    return pd.DataFrame(
        {
            "easting": [50.0, 100.0, 150.0],
            "northing": northing,
            "speed_m_s": speed_m_s,
            "kind": kind,
            "height_frac": height_frac,
            "level_m": level_m,
            "start_easting": np.nan,
            "start_northing": np.nan,
            "end_easting": np.nan,
            "end_northing": np.nan,
            "seconds": np.nan,
        }
    )


def test_depth_is_the_surface_less_the_bed(straight):
    field = straight.solve(9.0, level_m=0.6, rating=TEN)
    np.testing.assert_allclose(field.depth_m, 1.6, rtol=1e-12)


def test_the_surface_falls_along_the_stretch(straight):
    field = straight.solve(9.0, rating=TEN, slope=0.001)
    drop = (
        field.depth_m[straight.near(0.5, 0.5)]
        - field.depth_m[straight.near(199.5, 0.5)]
    )
    # 199 m at one in a thousand.
    assert drop == pytest.approx(0.199, abs=1e-6)


def test_a_rectangular_channel_runs_at_flow_over_area(straight):
    field = straight.solve(9.0, rating=TEN)
    # 10 m3/s through 20 m x 2 m; only rounding, for all cells are alike.
    np.testing.assert_allclose(field.speed_m_s, 0.25, rtol=1e-9)
    assert field.discharge_m3_s == pytest.approx(10.0, rel=1e-12)


@pytest.mark.parametrize("degrees", [10, 30, 45])
def test_a_channel_askew_to_the_grid_is_as_even_as_one_along_it(crs, degrees):
    line, water = (
        affinity.rotate(shape, degrees, origin=(0, 0)) for shape in (LINE, WATER)
    )
    field = trial(line, water, crs).solve(9.0, rating=TEN)
    # The widths of a section add up to that between the banks; the width is
    # measured on the drawn outline to about a tenth of a per cent.
    np.testing.assert_allclose(field.speed_m_s, 0.25, rtol=2e-3)


def test_by_conveyance_a_bend_of_even_depth_runs_evenly(crs):
    angle = np.linspace(0, np.pi / 2, 100)
    line = LineString(100 * np.column_stack([np.cos(angle), np.sin(angle)]))
    made = trial(line, line.buffer(10, cap_style="flat"), crs)
    field = made.solve(9.0, rating=TEN, core="conveyance")
    # Cells outside the bend stand for less width than those inside; 1 % is left by
    # the 1 m grid.
    np.testing.assert_allclose(field.speed_m_s, 0.25, rtol=0.01)


@pytest.mark.parametrize("side", [1, -1])
def test_with_inertia_the_inside_of_a_bend_runs_faster(crs, side):
    angle = np.linspace(0, np.pi / 2, 100)
    line = LineString(100 * np.column_stack([np.cos(angle), side * np.sin(angle)]))
    made = trial(line, line.buffer(10, cap_style="flat"), crs)
    speed = made.solve(9.0, rating=TEN).speed_m_s
    # Half way round; its centre is the origin, whichever way it turns.
    inside = speed[made.near(92 * 0.5**0.5, side * 92 * 0.5**0.5)]
    outside = speed[made.near(108 * 0.5**0.5, side * 108 * 0.5**0.5)]
    # Between friction's even speeds and a free vortex's 108 / 92 = 1.17.
    assert 1.02 < inside / outside < 1.18


def test_twice_the_discharge_is_twice_the_speed(straight):
    bed_m = 9.0 + 0.05 * np.abs(straight.cells.offset_m)
    once = straight.solve(bed_m, rating=TEN)
    twice = straight.solve(bed_m, rating=Rating(a=20.0, b=1.0, offset_m=0.0))
    np.testing.assert_allclose(twice.speed_m_s, 2 * once.speed_m_s, rtol=1e-12)


def test_speed_grows_with_two_thirds_of_the_depth(straight):
    bed_m = np.where(straight.cells.northing > 0, 9.0, 10.0)
    field = straight.solve(bed_m, rating=TEN, core="inertial")  # no mixing across
    ratio = (
        field.speed_m_s[straight.near(100.5, 5.5)]
        / field.speed_m_s[straight.near(100.5, -5.5)]
    )
    # Depths of 2 m and 1 m in one section.
    assert ratio == pytest.approx(2 ** (2 / 3), rel=1e-9)


def test_a_narrower_channel_runs_faster_by_continuity(crs):
    water = Polygon(
        [
            (0, -10),
            (100, -10),
            (100, -5),
            (200, -5),
            (200, 5),
            (100, 5),
            (100, 10),
            (0, 10),
        ]
    )
    made = trial(LINE, water, crs)
    speed = made.solve(9.0, rating=TEN).speed_m_s
    # 10 m3/s through 40 and through 20 m2; widths measured to a tenth of a per cent.
    assert speed[made.near(50.5, 0.5)] == pytest.approx(0.25, rel=2e-3)
    # 50 m below the step the middle still runs ahead of water that hugged the banks.
    assert speed[made.near(150.5, 0.5)] == pytest.approx(0.50, rel=5e-3)


def test_water_passes_an_island_through_what_is_left(crs):
    made = trial(LINE, WATER.difference(box(80, -4, 120, 4)), crs)
    speed = made.solve(9.0, rating=TEN).speed_m_s
    # 10 m3/s through 12 m x 2 m on the two sides together.
    assert speed[made.near(100.5, 8.5)] == pytest.approx(10 / 24, rel=2e-3)


def test_the_mapped_water_may_end_askew(crs):
    line, water = LINE, Polygon([(0, -10), (200, -10), (220, 10), (20, 10)])
    field = trial(line, water, crs).solve(9.0, rating=TEN)
    # Whole sections run at 0.25; an end section down to 60 % width counts as whole.
    assert field.speed_m_s.max() <= 0.25 / 0.6 * 1.01


def test_shallow_cells_are_dry_and_unknown(straight):
    bed_m = np.where(straight.cells.northing > 5, 10.96, 9.0)
    field = straight.solve(bed_m, rating=TEN)
    dry = straight.cells.northing > 5
    assert np.isnan(field.depth_m[dry]).all()
    assert np.isnan(field.speed_m_s[dry]).all()
    assert np.isnan(field.speed_sd_m_s[dry]).all()
    # The other 15 m carry it all: 10 / 30; a film's worth seeps over dry ground.
    np.testing.assert_allclose(field.speed_m_s[~dry], 1 / 3, rtol=1e-6)


def test_a_dry_bar_across_is_told_and_nothing_invented(straight):
    bed_m = np.where(np.abs(straight.cells.easting - 100) < 6, 12.0, 9.0)
    field = straight.solve(bed_m, rating=TEN)
    assert any("6 of 100 sections have no known" in note for note in field.notes)
    assert np.isnan(field.speed_m_s[straight.near(100.5, 0.5)])
    assert field.speed_m_s[straight.near(50.5, 0.5)] == pytest.approx(0.25, rel=1e-9)


def test_a_pool_cut_off_keeps_its_depth_and_stands_still(straight):
    east, north = straight.cells.easting, straight.cells.northing
    wall = (np.abs(east - 100) < 12) & (north > 2)
    pool = (np.abs(east - 100) < 8) & (north > 5)
    field = straight.solve(np.where(pool, 10.0, np.where(wall, 12.0, 9.0)), rating=TEN)
    inside = straight.near(100.5, 8.5)
    assert field.depth_m[inside] == pytest.approx(1.0, rel=1e-12)
    assert field.speed_m_s[inside] == 0.0
    assert field.speed_sd_m_s[inside] >= 0.05
    assert any("80 wet cells are cut off" in note for note in field.notes)
    # The stream beside it by conveyance: 10 m3/s through 12 m x 2 m.
    field = straight.solve(
        np.where(pool, 10.0, np.where(wall, 12.0, 9.0)), rating=TEN, core="conveyance"
    )
    beside = field.speed_m_s[straight.near(100.5, -5.5)]
    assert beside == pytest.approx(10 / 24, rel=1e-9)


def test_an_unknown_bed_is_unknown_and_carries_like_the_rest(straight):
    bed_m = np.where(straight.cells.northing > 5, np.nan, 9.0)
    field = straight.solve(bed_m, rating=TEN)
    unknown = straight.cells.northing > 5
    assert np.isnan(field.depth_m[unknown]).all()
    assert np.isnan(field.speed_m_s[unknown]).all()
    # A film's worth seeps over what counts as land.
    np.testing.assert_allclose(field.speed_m_s[~unknown], 0.25, rtol=1e-6)


def test_rough_ground_slows_the_water_over_it(straight):
    boulders = straight.cells.northing > 0
    shares = {"sand": (~boulders).astype(float), "boulder": boulders.astype(float)}
    # Without mixing across, which the plane adds.
    speed = straight.solve(9.0, rating=TEN, shares=shares, core="inertial").speed_m_s
    ratio = speed[straight.near(100.5, 5.5)] / speed[straight.near(100.5, -5.5)]
    # Inverse ratio of the n: boulder 0.512 m by Strickler, sand at the floor 0.025.
    assert ratio == pytest.approx(0.025 / (0.512 ** (1 / 6) / 21.1), rel=1e-9)


def test_below_the_level_of_no_flow_the_water_stands(straight):
    field = straight.solve(9.0, rating=Rating(a=9.0, b=1.5, offset_m=1.2))
    assert field.discharge_m3_s == 0.0
    assert np.all(field.speed_m_s == 0.0)


def test_surface_speeds_alone_give_the_discharge(straight):
    field = straight.solve(9.0, speeds=floats(0.5))
    # 0.85 x 0.5 m/s as depth mean, through 40 m2.
    np.testing.assert_allclose(field.speed_m_s, 0.425, rtol=PRIOR)
    assert field.discharge_m3_s == pytest.approx(17.0, rel=PRIOR)


def test_mean_speeds_are_taken_as_they_are(straight):
    field = straight.solve(9.0, speeds=floats(0.5, kind="mean"))
    np.testing.assert_allclose(field.speed_m_s, 0.5, rtol=PRIOR)


def test_a_point_speed_at_four_tenths_height_is_nearly_the_mean(straight):
    field = straight.solve(9.0, speeds=floats(0.5, kind="point", height_frac=0.4))
    # 1.0014 for the 1/6 power law.
    np.testing.assert_allclose(field.speed_m_s, 0.5 / 1.0014, rtol=PRIOR)


def test_a_point_speed_without_its_height_is_left_out_and_said(straight):
    field = straight.solve(9.0, speeds=floats(0.5, kind="point"), rating=TEN)
    assert any(
        note.startswith("speeds: 3 measurement(s) not used") for note in field.notes
    )


def test_a_float_run_is_compared_with_the_time_it_took(crs):
    # 10 m at 0.25 m/s and 10 m at 0.5 m/s take 60 s: 1/3 m/s, not their mean 0.375.
    water = Polygon(
        [
            (0, -10),
            (100, -10),
            (100, -5),
            (200, -5),
            (200, 5),
            (100, 5),
            (100, 10),
            (0, 10),
        ]
    )
    made = trial(LINE, water, crs)
    run = (
        floats(1 / 3 / 0.85, kind="float")
        .head(1)
        .assign(
            easting=100.0,
            start_easting=90.0,
            end_easting=110.0,
            start_northing=0.5,
            end_northing=0.5,
            northing=0.5,
        )
    )
    # 33 places along the run: one too many or few on a side is 3 %.
    field = made.solve(9.0, speeds=run, core="conveyance")
    assert field.discharge_m3_s == pytest.approx(10.0, rel=0.03)


def test_one_wild_float_does_not_move_the_discharge(straight):
    field = straight.solve(9.0, speeds=floats([0.5, 0.5, 4.0]))
    assert field.discharge_m3_s == pytest.approx(17.0, rel=1e-2)


def test_floats_of_a_lower_day_are_carried_by_the_ratio_of_conveyances(straight):
    field = straight.solve(9.0, speeds=floats(0.5, level_m=0.0), level_m=1.0)
    # 1 m deep then: 0.425 x 20 = 8.5 m3/s; twice as deep now: x 2 ** (5/3).
    assert field.discharge_m3_s == pytest.approx(8.5 * 2 ** (5 / 3), rel=PRIOR)


def test_a_single_gauging_is_carried_by_the_ratio_of_conveyances(straight):
    flows = pd.DataFrame({"level_m": [0.0], "flow_m3_s": [3.0]})
    field = straight.solve(9.0, flows=flows)
    assert field.discharge_m3_s == pytest.approx(3.0 * 2 ** (5 / 3), rel=1e-9)
    assert "the gauging at 0.00 m" in field.notes[0]


def test_of_two_gaugings_the_more_similar_level_is_carried(straight):
    flows = pd.DataFrame({"level_m": [0.0, 0.9], "flow_m3_s": [3.0, 12.0]})
    field = straight.solve(9.0, flows=flows)
    # Depth 1.9 m then, 2.0 m now.
    expected = 12.0 * (2.0 / 1.9) ** (5 / 3)
    assert field.discharge_m3_s == pytest.approx(expected, rel=1e-9)


def test_the_farther_a_gauging_is_carried_the_larger_the_error(straight):
    near, far = (
        straight.solve(
            9.0, flows=pd.DataFrame({"level_m": [level], "flow_m3_s": [8.0]})
        )
        for level in (0.9, -0.5)
    )
    doubt = [np.median(field.speed_sd_m_s / field.speed_m_s) for field in (near, far)]
    assert doubt[1] > doubt[0]


def test_three_gaugings_make_a_rating(straight):
    level = np.array([0.2, 0.6, 1.0])
    flows = pd.DataFrame({"level_m": level, "flow_m3_s": 5 * (level + 0.1) ** (5 / 3)})
    field = straight.solve(9.0, flows=flows)
    # Search tolerance of the offset.
    assert field.discharge_m3_s == pytest.approx(5 * 1.1 ** (5 / 3), rel=1e-6)


def test_floats_beside_a_rating_are_told_but_do_not_change_it(straight):
    field = straight.solve(9.0, rating=TEN, speeds=floats(0.25 / 0.85 * 1.1))
    np.testing.assert_allclose(field.speed_m_s, 0.25, rtol=1e-9)
    assert any("median 1.10" in note for note in field.notes)
    assert not any("disagree" in note for note in field.notes)


def test_floats_that_contradict_a_rating_are_told_and_widen_the_error(straight):
    agree = straight.solve(9.0, rating=TEN, speeds=floats(0.25 / 0.85))
    differ = straight.solve(9.0, rating=TEN, speeds=floats(0.25 / 0.85 * 2))
    assert any("disagree" in note for note in differ.notes)
    assert np.all(differ.speed_sd_m_s > agree.speed_sd_m_s)


def test_slope_alone_gives_manning_s_flow_with_a_large_error(straight):
    field = straight.solve(9.0, slope=1e-9)
    # K = 20 x 2 ** (5/3) / 0.035; the fall over 200 m is below a micrometre.
    expected = 20 * 2 ** (5 / 3) / 0.035 * 1e-9**0.5
    assert field.discharge_m3_s == pytest.approx(expected, rel=1e-6)
    assert "40 % out" in field.notes[0]


def test_slope_alone_is_doubted_by_two_fifths_at_least(straight):
    field = straight.solve(9.0, slope=4e-4)
    assert np.all(field.speed_sd_m_s >= 0.4 * field.speed_m_s)


def test_nothing_to_go_by_leaves_the_speed_unknown(straight):
    field = straight.solve(9.0)
    assert np.isnan(field.discharge_m3_s)
    assert np.isnan(field.speed_m_s).all()
    assert np.isfinite(field.depth_m).all()
    assert "unknown" in field.notes[0]


def test_no_speed_is_stated_closer_than_a_twentieth_or_fifteen_per_cent(straight):
    table = pd.concat([floats(0.5, northing=north) for north in range(-9, 10)])
    field = straight.solve(9.0, speeds=table)
    assert field.speed_sd_m_s.min() >= 0.05
    # An 80 % interval is 1.2816 standard errors either way.
    assert 1.2816 * field.speed_sd_m_s.min() >= 0.1499 * field.speed_m_s.max()


def test_a_doubtful_bed_makes_a_doubtful_speed(straight):
    sure = straight.solve(9.0, rating=TEN)
    vague = straight.solve(9.0, rating=TEN, bed_sd_m=np.full(sure.depth_m.shape, 0.6))
    # By hand: 2/3 x 0.6 / 2 m x 0.25 m/s = 0.05 m/s more, in quadrature.
    more = vague.speed_sd_m_s**2 - sure.speed_sd_m_s**2
    np.testing.assert_allclose(more, 0.05**2, rtol=1e-9)


def test_water_faster_than_critical_is_held_at_it_and_said(straight):
    bed_m = np.where(np.abs(straight.cells.easting - 100) < 5, 10.9, 9.0)
    field = straight.solve(bed_m, rating=TEN)
    shallow = straight.near(100.5, 0.5)
    # sqrt(9.81 x 0.1 m)
    assert field.speed_m_s[shallow] == pytest.approx(0.981**0.5, rel=1e-9)
    assert any("critical" in note for note in field.notes)


def test_beds_that_do_not_match_the_cells_are_refused_with_their_sizes(straight):
    with pytest.raises(LayerError, match=r"\(3,\).* 4000 wet cells"):
        solve_flow(
            cells=straight.cells,
            bed_m=np.zeros(3),
            bed_sd_m=np.zeros(3),
            shares=None,
            channel=straight.channel,
            grid=straight.grid,
            waterline=Waterline(gauge_chainage_m=0, zero_m=0, slope=0, note=""),
            speeds=None,
            rating=None,
            flows=None,
            level_m=1.0,
        )


def test_floats_over_boulders_are_cut_down_more(straight):
    ones = np.ones(straight.cells.rows.shape)
    field = straight.solve(9.0, speeds=floats(0.5), shares={"boulder": ones})
    # 2 m is less than ten roughness heights of 2.5 x 0.512 m: 0.80 x 0.5 m/s.
    np.testing.assert_allclose(field.speed_m_s, 0.40, rtol=PRIOR)


def test_a_table_of_points_alone_needs_no_columns_for_runs(straight):
    table = floats(0.5).filter(regex="^(?!start|end|seconds)")
    field = straight.solve(9.0, speeds=table)
    np.testing.assert_allclose(field.speed_m_s, 0.425, rtol=PRIOR)


def test_floats_outside_the_water_are_left_out_and_tell_nothing(straight):
    field = straight.solve(9.0, speeds=floats(0.5, northing=500.0))
    assert np.isnan(field.discharge_m3_s)
    assert any("3 measurement(s) not used" in note for note in field.notes)


def test_water_turning_back_is_left_out_of_the_discharge(straight):
    field = straight.solve(9.0, speeds=floats([0.5, 0.5, -0.1]))
    assert field.discharge_m3_s == pytest.approx(17.0, rel=PRIOR)


@pytest.mark.parametrize(
    ("core", "said"),
    [
        ("planar", "settled in the plane"),
        ("inertial", "keep their speed"),
        ("conveyance", "fast method"),
    ],
)
def test_the_notes_say_which_core_spread_the_discharge(straight, core, said):
    field = straight.solve(9.0, rating=TEN, core=core)
    assert any(
        note.startswith("flow at level 1.00 m:") and said in note
        for note in field.notes
    )


def test_speed_falls_off_downstream_of_a_step_only_by_and_by(straight):
    # Rough to 100 m on the left, then even: the left is still behind at 110 m.
    left, early = straight.cells.northing > 0, straight.cells.easting < 100
    shares = {
        "sand": (~(left & early)).astype(float),
        "boulder": (left & early).astype(float),
    }
    # Without mixing across, which the plane adds.
    speed = straight.solve(9.0, rating=TEN, shares=shares, core="inertial").speed_m_s
    lag = [
        1 - speed[straight.near(at, 5.5)] / speed[straight.near(at, -5.5)]
        for at in (105.5, 150.5, 195.5)
    ]
    assert lag[0] > 1.1 * lag[1] > 1.1**2 * lag[2] > 0


def test_every_section_carries_the_discharge_round_an_island(crs):
    made = trial(LINE, WATER.difference(box(80, -2, 120, 4)), crs)
    field = made.solve(9.0 + 0.1 * np.abs(made.cells.northing) / 10, rating=TEN)
    for at in (60.5, 100.5, 140.5):
        strip = np.abs(made.cells.easting - at) < 2
        carried = (field.speed_m_s * field.depth_m)[strip].sum() / 3
        assert carried == pytest.approx(10.0, rel=0.01)


def test_a_bay_behind_a_spit_hardly_flows(straight):
    # A spit from (100, 5) to (140, 5), joined to the left bank at its lower end.
    east, north = straight.cells.easting, straight.cells.northing
    spit = (np.abs(north - 5) < 1) & (np.abs(east - 120) < 20)
    spit |= (np.abs(east - 139) < 2) & (north > 4)
    field = straight.solve(np.where(spit, 12.0, 9.0), rating=TEN)
    inside = straight.near(130.5, 8.5)
    assert field.sheltered[inside]
    assert field.speed_m_s[inside] < 0.05
    assert field.speed_sd_m_s[inside] >= 0.05
