import numpy as np
import pytest

from pegscore.settling import settling_speed, water_density, water_viscosity

NU = 1e-6


def test_a_speck_sinks_as_stokes_said():
    # R g D² / (18 ν), worked by hand: 1.65 * 9.81 * (1e-6)² / 18e-6
    assert settling_speed(1e-6, 1.65) == pytest.approx(8.9925e-7, rel=1e-3)


@pytest.mark.parametrize("drag", [0.4, 1.0])
def test_a_boulder_sinks_at_constant_drag(drag):
    # sqrt(4 R g D / (3 C2)); at 10 m viscosity adds less than a part in 10,000
    by_hand = np.sqrt(4 * 1.65 * 9.81 * 10 / (3 * drag))
    assert settling_speed(10.0, 1.65, drag=drag) == pytest.approx(by_hand, rel=1e-4)


def test_what_is_no_heavier_than_water_has_no_settling_speed():
    found = settling_speed(0.005, np.array([-0.03, 0.0, 0.03]))
    assert np.isnan(found).tolist() == [True, True, False]


def test_near_waters_own_density_the_speed_hangs_on_a_few_per_cent():
    # large bodies go with the square root of R: 4 % to 8 % is a factor of 1.414,
    # a little more where viscosity still matters
    light, heavy = settling_speed(0.005, np.array([0.04, 0.08]))
    assert 1.41 < heavy / light < 1.50


def test_cold_water_is_half_as_thick_again():
    assert water_viscosity(5.0) / water_viscosity(20.0) == pytest.approx(1.51, abs=0.02)
    assert water_density(4.0) == pytest.approx(1000.0, abs=0.01)
