"""The robust trend of the bed against scipy's Theil-Sen slope."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from layers.checks import SURE, surest_rise


def test_the_interval_holds_99_9_per_cent():
    """scipy.stats.norm, to the digits that are written."""
    assert pytest.approx(stats.norm.ppf(0.9995), abs=5e-5) == SURE


@pytest.mark.parametrize("size", [30, 101, 400])
def test_the_lower_slope_is_that_of_scipy(size: int, rng: np.random.Generator):
    """scipy.stats.theilslopes, alpha 0.999, whose ranks are Sen's (1968)."""
    along_m = np.sort(rng.uniform(0, 900, size))
    height_m = 0.002 * along_m + rng.standard_t(2, size)
    expected = stats.theilslopes(height_m, along_m, alpha=0.999).low_slope
    # the same pairs by the same arithmetic: rounding alone
    assert surest_rise(along_m, height_m) == pytest.approx(
        expected * np.ptp(along_m), rel=1e-12
    )
