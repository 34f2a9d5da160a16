from dataclasses import replace

import numpy as np
import pytest

from pegscore.baits import Settling
from pegscore.drift import Stream, landing_m, throw_m
from pegscore.errors import PegError
from pegscore.landing import landing

EVEN = Stream(
    along_m=np.arange(41.0), depth_m=np.full(41, 1.5), speed_m_s=np.full(41, 0.4)
)
SURE = {"depth_sd_m": np.zeros(41), "speed_sd_m_s": np.zeros(41)}


def settling(low, usual, high):
    return Settling(low_m_s=low, usual_m_s=usual, high_m_s=high, basis="computed")


def test_many_throws_and_baits_are_answered_at_once():
    found = landing_m(EVEN, np.array([[0.0], [2.0]]), np.array([0.1, 0.2, 0.3]))
    # U h = 0.6 m²/s
    np.testing.assert_allclose(found, [[6, 3, 2], [8, 5, 4]], rtol=1e-6)


def test_feed_that_floats_lands_nowhere():
    assert np.isnan(landing_m(EVEN, 0.0, np.nan))


def test_beyond_the_lines_end_nothing_is_told():
    assert np.isnan(landing_m(EVEN, 38.0, 0.1))
    assert np.isnan(throw_m(EVEN, 2.0, 0.1))


def test_water_that_is_not_known_is_not_crossed():
    speed_m_s = EVEN.speed_m_s.copy()
    speed_m_s[20:23] = np.nan
    broken = replace(EVEN, speed_m_s=speed_m_s)
    assert np.isnan(landing_m(broken, 16.0, 0.1))
    assert landing_m(broken, 12.0, 0.1) == pytest.approx(18.0, rel=1e-6)
    assert landing_m(broken, 25.0, 0.1) == pytest.approx(31.0, rel=1e-6)


def test_in_slack_water_feed_lands_where_it_was_thrown():
    slack = replace(EVEN, speed_m_s=np.zeros(41))
    # still water counts as a flow of a millionth; half a millimetre is nothing
    assert landing_m(slack, 5.0, 0.05) == pytest.approx(5.0, abs=5e-4)


def test_a_line_that_does_not_go_downstream_is_refused():
    with pytest.raises(PegError, match=r"\[0.0, 0.0\]"):
        Stream(along_m=np.zeros(2), depth_m=np.ones(2), speed_m_s=np.ones(2))


def test_the_range_of_the_settling_speed_spreads_the_landing():
    found = landing(EVEN, **SURE, thrown_m=1.0, settling=settling(0.08, 0.1, 0.12))
    # 0.6 / 0.12, 0.6 / 0.1 and 0.6 / 0.08 m of drift, and turbulence on top
    assert found.at_m == pytest.approx(7.0, abs=1e-3)
    assert found.from_m < 6.0
    assert found.to_m > 8.5
    assert found.falls_s == pytest.approx(15.0, rel=1e-3)


def test_turbulence_alone_scatters_by_its_formula():
    found = landing(EVEN, **SURE, thrown_m=1.0, settling=settling(0.1, 0.1, 0.1))
    # u* = 0.4 * 0.035 * 3.132 / 1.5^(1/6) = 0.04098; sqrt(0.3 * u* * 1.5 * 15) = 0.526
    assert found.to_m - found.at_m == pytest.approx(1.2816 * 0.526, rel=5e-3)


def test_less_certain_water_spreads_it_more():
    unsure = {"depth_sd_m": np.full(41, 0.2), "speed_sd_m_s": np.full(41, 0.1)}
    sharp = landing(EVEN, **SURE, thrown_m=1.0, settling=settling(0.1, 0.1, 0.1))
    blunt = landing(EVEN, **unsure, thrown_m=1.0, settling=settling(0.1, 0.1, 0.1))
    # a tenth of a metre a second, 1.2816 of them, shifts 6 m of drift by 1.92 m alone
    assert blunt.to_m - blunt.at_m > 1.9
    assert blunt.at_m == sharp.at_m
    assert blunt.from_m < sharp.from_m


def test_an_error_nobody_knows_adds_nothing_and_does_not_blot_out_the_answer():
    blank = {"depth_sd_m": np.full(41, np.nan), "speed_sd_m_s": np.full(41, np.nan)}
    found = landing(EVEN, **blank, thrown_m=1.0, settling=settling(0.08, 0.1, 0.12))
    sure = landing(EVEN, **SURE, thrown_m=1.0, settling=settling(0.08, 0.1, 0.12))
    assert found == sure
