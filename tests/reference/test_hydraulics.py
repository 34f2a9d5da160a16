"""Flow formulas against worked examples, published tables and closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from layers.hydraulics import (
    conveyance,
    manning_speed,
    mid_section_discharge,
    power_law_mean,
    power_law_speed,
    strickler_n,
)
from layers.rating import fit_rating

# Subramanya, Engineering Hydrology, example 4.1 (data from memory).
OFFSET_A = [0, 1, 3, 5, 7, 9, 11, 12]
DEPTH_A = [0, 1.1, 2.0, 2.5, 2.0, 1.7, 1.0, 0]
REVS_PER_S_A = [0.39, 0.58, 112 / 150, 0.60, 0.45, 0.30]
SPEED_A = [0, *(0.51 * n + 0.03 for n in REVS_PER_S_A), 0]


def test_mid_section_of_a_two_point_gauging_worked_by_hand():
    # Data: askfilo.com "example 2, the following data were collected at a gauging";
    # by hand with widths 1.5, 2, 2, 2, 2, 1.5:
    # 0.5625 + 2.300 + 4.500 + 3.000 + 1.900 + 0.630 = 12.8925 (its own answer mixes
    # two methods and is not used).
    depth = [0, 1.5, 2.3, 3.0, 2.5, 1.9, 1.2, 0]
    speed = [0, 0.25, 0.50, 0.75, 0.60, 0.50, 0.35, 0]
    flow = mid_section_discharge(OFFSET_A, depth, speed)
    assert flow == pytest.approx(12.8925, rel=1e-12)  # arithmetic: rounding only


def test_mid_section_of_a_rectangle_with_a_uniform_speed_is_exact():
    # 10 m x 1.5 m x 0.6 m/s = 9 m3/s.
    flow = mid_section_discharge([0, 2, 4, 6, 8, 10], [1.5] * 6, [0.6] * 6)
    assert flow == pytest.approx(9.0, rel=1e-12)  # arithmetic: rounding only


def test_mid_section_by_the_iso_edge_rule():
    # 6.236 m3/s: ISO 748 / WSP 2175 rule on the data above, by hand.
    flow = mid_section_discharge(OFFSET_A, DEPTH_A, SPEED_A)
    assert flow == pytest.approx(6.236, abs=6e-4)  # printed to three decimals


def test_mid_section_by_the_triangular_edge_rule_gives_the_book_s_answer():
    # 6.45 m3/s: the book's printed answer (from memory).
    flow = mid_section_discharge(OFFSET_A, DEPTH_A, SPEED_A, edge="triangle")
    assert flow == pytest.approx(6.45, abs=0.005)  # printed to two decimals


def test_mid_section_of_a_triangle_converges_with_the_square_of_the_spacing():
    # d = y, v = y for y in [0, 1]: the flow is the integral of y squared, 1/3.
    def error(count):
        y = np.linspace(0, 1, count + 1)
        return abs(mid_section_discharge(y, y, y) - 1 / 3)

    # The edge at y = 1 is a wall; halving the spacing quarters the error.
    assert error(20) / error(40) == pytest.approx(4.0, rel=0.01)


def test_manning_gives_the_published_speed_and_flow():
    # Ponce (San Diego State University), midterm problem: b 5 m, y 0.8 m,
    # S 0.0025, n 0.015: v = 2.387 m/s, Q = 9.548 m3/s.
    radius = 4.0 / 6.6
    assert float(manning_speed(radius, 0.0025, 0.015)) == pytest.approx(2.387, abs=5e-4)
    flow = float(conveyance(4.0, radius, 0.015)) * 0.05
    assert flow == pytest.approx(9.548, abs=1e-3)  # printed to three decimals


def test_manning_carries_the_published_flow_at_the_published_depth():
    # Apsley, Hydraulics 3 (University of Manchester): b 3 m, n 0.013, S 1/200,
    # Q 12 m3/s runs 1.024 m deep.
    area, perimeter = 3 * 1.024, 3 + 2 * 1.024
    flow = float(conveyance(area, area / perimeter, 0.013)) * np.sqrt(1 / 200)
    assert flow == pytest.approx(12.0, rel=1e-3)  # depth printed to a millimetre


def test_the_conveyance_of_a_compound_section_adds_up_by_hand():
    # Main 15 x 2.8 m, n 0.03, P 19 m; two plains 20 x 0.8 m, n 0.06, P 20.8 m.
    parts = conveyance(
        [42.0, 16.0, 16.0], [42 / 19, 16 / 20.8, 16 / 20.8], [0.03, 0.06, 0.06]
    )
    np.testing.assert_allclose(parts[:2], [2375.7, 223.9], rtol=0, atol=0.06)
    assert parts.sum() * 0.02 == pytest.approx(56.47, abs=0.006)


@pytest.mark.parametrize(
    ("d50_m", "n"),
    [
        (0.001, 0.0150),
        (0.010, 0.0220),
        (0.020, 0.0247),
        (0.050, 0.0288),
        (0.100, 0.0323),
    ],
)
def test_strickler_s_table(d50_m, n):
    # Strickler (1923) with d50 in metres, table printed to four decimals.
    assert float(strickler_n(d50_m)) == pytest.approx(n, abs=5.1e-5)


@pytest.mark.parametrize(("exponent", "mean"), [(6, 6 / 7), (7, 7 / 8)])
def test_the_power_law_s_mean_is_m_over_m_plus_one(exponent, mean):
    assert float(power_law_mean(exponent)) == pytest.approx(mean, rel=1e-12)


@pytest.mark.parametrize(("exponent", "at_06"), [(6, 1.0014), (7, 1.0026)])
def test_the_speed_at_six_tenths_depth_is_nearly_the_mean(exponent, at_06):
    # Closed form: (m + 1) / m * 0.4 ** (1 / m).
    ratio = float(power_law_speed(0.4, exponent=exponent))
    assert ratio == pytest.approx(at_06, abs=5e-5)  # printed to four decimals


@pytest.mark.parametrize(("exponent", "mean"), [(6, 1.0081), (7, 1.0076)])
def test_the_two_point_rule_is_within_a_hundredth_of_the_mean(exponent, mean):
    two = power_law_speed([0.2, 0.8], exponent=exponent).mean()
    assert float(two) == pytest.approx(mean, abs=5e-5)  # printed to four decimals


def test_a_wide_rectangle_under_manning_rates_with_five_thirds():
    depth = np.linspace(0.2, 2.0, 12)
    flow = manning_speed(depth, 4e-4, 0.03) * depth * 25.0
    rating = fit_rating(depth + 0.35, flow).rating
    assert rating.b == pytest.approx(5 / 3, abs=1e-6)
    assert rating.offset_m == pytest.approx(0.35, abs=1e-6)


def test_a_v_notch_rates_with_five_halves():
    # Thomson weir: Q = 8/15 Cd sqrt(2 g) h^(5/2), here with Cd 0.6.
    head = np.linspace(0.05, 0.5, 9)
    rating = fit_rating(head - 0.1, 8 / 15 * 0.6 * np.sqrt(19.62) * head**2.5).rating
    assert rating.b == pytest.approx(2.5, abs=1e-6)
    assert rating.a == pytest.approx(8 / 15 * 0.6 * np.sqrt(19.62), rel=1e-5)
