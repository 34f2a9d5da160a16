import numpy as np
import pytest

from layers.errors import LevelMissing
from pegscore.errors import PegError
from pegscore.methods import find_method
from pegscore.run_line import find_run_line
from tests.swim_world import DEPTH_M, LEVEL_M, SPEED_M_S, at, make_run


def line_of(run, *, out_m=None, peg="1", level_m=LEVEL_M):
    return find_run_line(
        run.pegs.loc[[peg]],
        stack=run.stack,
        channel=run.channel,
        method=find_method("float"),
        level_m=level_m,
        distance_out_m=out_m,
    )


def test_in_an_even_channel_it_runs_straight_at_the_distance_that_was_chosen(tmp_path):
    line, _ = line_of(make_run(tmp_path), out_m=3.0)
    np.testing.assert_allclose(line.out_m, 3.0, atol=1e-6)
    np.testing.assert_allclose(line.easting, at(line.along_m, 0)[0], atol=1e-6)
    np.testing.assert_allclose(np.diff(line.along_m), 1.0, atol=1e-12)
    np.testing.assert_allclose(line.depth_m, DEPTH_M, rtol=1e-6)
    assert set(line.bottom) == {"gravel"}


def test_nobodys_choice_is_the_middle_of_the_methods_reach(tmp_path):
    line, _ = line_of(make_run(tmp_path))
    # 1 to 8 m out
    np.testing.assert_allclose(line.out_m, 4.5, atol=1e-6)


def test_the_part_in_the_swim_is_what_the_method_reaches(tmp_path):
    line, _ = line_of(make_run(tmp_path))
    fished = line.along_m[line.fished]
    # 2 m up to 15 m down; its ends lie on the swim's edge
    assert -2.0 <= fished[0] <= -1.0
    assert 14.0 <= fished[-1] <= 15.0


def test_a_float_let_go_goes_with_the_surface(tmp_path):
    line, _ = line_of(make_run(tmp_path))
    # 10 m at 0.4 * 7/6 m/s
    assert line.pass_s(2.0, 12.0) == pytest.approx(10 / (SPEED_M_S * 7 / 6), rel=1e-6)


def test_it_gives_way_where_the_near_water_goes_dry(tmp_path):
    # a bar fills the near 5 m from 5 m down; half of the flow is beyond 12.5 m there
    def barred(down, out):
        return np.where((down > 5) & (out < 5), np.nan, DEPTH_M)

    line, _ = line_of(make_run(tmp_path, depth=barred), out_m=10.0)
    assert line.out_m[line.along_m == 0][0] == pytest.approx(10.0, abs=0.05)
    assert line.out_m[line.along_m == 30][0] == pytest.approx(12.5, abs=0.3)
    assert np.isfinite(line.depth_m).all()


def test_it_keeps_its_share_of_the_flow_where_the_far_side_quickens(tmp_path):
    # upstream of 0 even; beyond 20 m the outer half runs three times as fast: half of
    # the flow, 4 parts of 8 in 20 m, lies beyond 10 + 10/3 m
    def lopsided(down, out):
        return np.where((down > 20) & (out > 10), 3 * SPEED_M_S, SPEED_M_S)

    line, _ = line_of(make_run(tmp_path, speed=lopsided), out_m=10.0)
    assert line.out_m[line.along_m == 40][0] == pytest.approx(13.33, abs=0.3)


def test_without_any_pace_it_still_runs_and_says_unknown(tmp_path):
    run = make_run(tmp_path, speed=lambda down, _: np.full(down.shape, np.nan))
    line, _ = line_of(run, out_m=3.0)
    np.testing.assert_allclose(line.out_m, 3.0, atol=1e-6)
    assert np.isnan(line.speed_m_s).all()
    assert np.isnan(line.pass_s(0.0, 5.0))


def test_a_dry_reach_has_a_line_and_no_run(tmp_path):
    run = make_run(tmp_path, depth=lambda down, _: np.full(down.shape, np.nan))
    line, _ = line_of(run)
    assert not line.fished.any()


def test_a_run_is_one_piece_the_nearest_to_the_peg(tmp_path):
    def gap(down, _):
        return np.where((down > 6) & (down < 10), np.nan, DEPTH_M)

    line, _ = line_of(make_run(tmp_path, depth=gap))
    assert 5 <= line.along_m[line.fished].max() <= 6.5


def test_it_ends_short_of_the_far_bank(tmp_path):
    line, _ = line_of(make_run(tmp_path), out_m=200.0)
    np.testing.assert_allclose(line.out_m, 19.0, atol=1e-6)


@pytest.mark.parametrize("out_m", [0.0, -2.0, np.nan, np.inf])
def test_a_distance_that_is_none_is_refused(tmp_path, out_m):
    with pytest.raises(PegError, match="m out; give metres above 0"):
        line_of(make_run(tmp_path), out_m=out_m)


def test_a_level_that_was_not_built_is_refused(tmp_path):
    with pytest.raises(LevelMissing, match=r"0\.9"):
        line_of(make_run(tmp_path), level_m=0.9)


def test_places_are_measured_as_an_angler_does(tmp_path):
    _, frame = line_of(make_run(tmp_path))
    out_m, down_m = frame.measure(*(np.array([value]) for value in at(7.0, 3.0)))
    assert out_m[0] == pytest.approx(3.0, abs=1e-6)
    assert down_m[0] == pytest.approx(7.0, abs=1e-6)
