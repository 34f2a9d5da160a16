"""Reaeration against arithmetic by hand on the published formula.

O'Connor and Dobbins 1958, as printed at ponce.sdsu.edu/onlineoxygenation.php (after
Chin 2006): k = 3.93 V^0.5 D^-1.5 a day at 20 °C, V in m/s, D in m; least 0.6 / D. The
temperature base 1.024: documentation of a public watershed model.
"""

from __future__ import annotations

import numpy as np
import pytest

from layers.reaeration import MOST_PER_DAY, reaeration_per_day


@pytest.mark.parametrize(
    ("speed_m_s", "depth_m", "expected"),
    [
        # 3.93 * sqrt(0.25) / 1 = 1.965; 3.93 * 0.4 / 8 = 0.1965, but 0.6 / 4 = 0.15
        (0.25, 1.0, 1.965),
        (0.16, 4.0, 0.1965),
        # 3.93 * 0.7071068 / 1.8371173 and 3.93 * 0.5477226 / 1.8371173
        (0.5, 1.5, 1.5127),
        (0.3, 1.5, 1.1717),
        # 3.93 * 0.8944272 / 1
        (0.8, 1.0, 3.5151),
        # 3.93 * 0.7071068 / 0.2529822
        (0.5, 0.4, 10.985),
    ],
)
def test_the_formula_gives_what_arithmetic_gives(speed_m_s, depth_m, expected):
    found = reaeration_per_day(speed_m_s, depth_m)
    assert found == pytest.approx(expected, rel=1e-4)  # as many digits as are written


def test_still_water_takes_up_what_the_least_is():
    assert reaeration_per_day(0.0, 2.0) == pytest.approx(0.3, rel=1e-12)


def test_a_thin_film_is_not_given_more_than_any_water():
    assert reaeration_per_day(1.0, 0.06) == MOST_PER_DAY


def test_ten_degrees_colder_takes_up_a_fifth_less():
    # 1.024^-10 = 0.78886
    cold, mild = (
        reaeration_per_day(0.5, 1.5, water_temp_c=temp) for temp in (10.0, 20.0)
    )
    assert cold / mild == pytest.approx(0.78886, rel=1e-4)


def test_unknown_stays_unknown():
    assert np.isnan(reaeration_per_day([np.nan, 0.5], [1.0, np.nan])).all()
