"""Edges of the flow formulas."""

from __future__ import annotations

import numpy as np
import pytest

from layers.errors import LayerError
from layers.grain import GRAIN_ORDER
from layers.hydraulics import (
    DEFAULT_N,
    bed_roughness,
    class_n,
    float_coefficient,
    friction_slope,
    mid_section_discharge,
    power_law_speed,
    reach_conveyance,
)


@pytest.mark.parametrize("offsets", [[0, 2, 2], [0, 3, 2], [0, 1]])
def test_offsets_that_do_not_increase_are_refused_with_their_values(offsets):
    ones = np.ones(len(offsets))
    with pytest.raises(LayerError, match=str(offsets[-1])):
        mid_section_discharge(offsets, ones, ones)


def test_a_steeper_energy_line_is_needed_with_the_square_of_the_flow():
    ratio = friction_slope(6.0, 100.0) / friction_slope(2.0, 100.0)
    assert ratio == pytest.approx(9.0, rel=1e-12)  # arithmetic


def test_coarser_beds_are_never_smoother():
    grains = [word for word in GRAIN_ORDER if word != "bedrock"]
    n = [class_n(word) for word in grains]
    assert n == sorted(n)


def test_fine_beds_and_rock_are_as_rough_as_the_least_natural_bed():
    assert class_n("silt") == class_n("bedrock") == pytest.approx(0.025 * 1.25)


def test_a_mixed_bed_lies_between_its_classes():
    shares = {"sand": np.array([0.5]), "boulder": np.array([0.5])}
    middle = (class_n("sand") + class_n("boulder")) / 2
    np.testing.assert_allclose(bed_roughness(shares), [middle], rtol=1e-12)


def test_an_unknown_bed_takes_the_default_roughness():
    shares = {"sand": np.array([np.nan]), "gravel": np.array([np.nan])}
    assert bed_roughness(shares).tolist() == [DEFAULT_N]


def test_a_float_over_a_smooth_or_unknown_bed_keeps_the_usual_coefficient():
    assert float_coefficient([1.5, 1.5], [0.05, np.nan]).tolist() == [0.85, 0.85]


def test_a_float_over_shallow_boulders_overstates_the_mean_more():
    assert float_coefficient([0.5], [0.1]).tolist() == [0.80]


def test_the_power_law_averages_to_one_over_the_depth():
    heights = (np.arange(20_000) + 0.5) / 20_000
    # Midpoint rule; the profile's steep foot leaves an error of about 1e-6.
    assert power_law_speed(heights).mean() == pytest.approx(1.0, abs=1e-5)


def test_a_narrow_section_rules_the_reach():
    # By hand: mean of 1/100^2 and 1/50^2 is 2.5e-4, its root's inverse 63.25.
    assert reach_conveyance([100.0, 50.0]) == pytest.approx(63.2456, abs=1e-4)


def test_one_bad_section_does_not_dam_the_reach():
    # 999 sections of 100 and one that counts as 10, not as a thousandth:
    # (0.999 / 100^2 + 0.001 / 10^2) ** -0.5 = 95.4.
    assert reach_conveyance([*[100.0] * 999, 0.001]) == pytest.approx(95.4, abs=0.05)
