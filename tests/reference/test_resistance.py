"""Resistance formulas against published values."""

from __future__ import annotations

import numpy as np
import pytest

from layers.errors import LayerError
from layers.resistance import (
    bed_shear_pa,
    cowan_n,
    froude_number,
    limerinos_n,
    shields_number,
)


# The documented results of R's HYDROCAL n_cowan1956, which takes the middles of
# Cowan's ranges; printed to three places.
@pytest.mark.parametrize(
    ("meandering", "parts", "n"),
    [
        ("minor", ("earth", "smooth", "gradual", "negligible", "low"), 0.028),
        ("appreciable", ("rock cut", "minor", "occasional", "minor", "medium"), 0.075),
        (
            "severe",
            ("fine gravel", "moderate", "frequent", "appreciable", "high"),
            0.142,
        ),
    ],
)
def test_cowan_s_parts_add_up_as_documented(meandering, parts, n):
    names = ("material", "irregularity", "variation", "obstructions", "vegetation")
    found = cowan_n(meandering=meandering, **dict(zip(names, parts, strict=True)))
    assert found == pytest.approx(n, abs=5.1e-4)


def test_cowan_s_unknown_words_are_refused_with_the_known_ones():
    with pytest.raises(LayerError, match=r"material='mud'.*coarse gravel"):
        cowan_n(material="mud")
    with pytest.raises(LayerError, match="without a material"):
        cowan_n(vegetation="low")


def test_limerinos_in_feet_and_in_metres_agree():
    # USGS WSP 1898-B's form in feet: R = 1.5 m and 0.8 m, by pocket calculator.
    found = limerinos_n([1.5, 0.8], [0.03, 0.1])
    np.testing.assert_allclose(found, [0.0265, 0.0367], atol=6e-5)


def test_limerinos_does_not_speak_of_water_shallower_than_its_stones():
    assert np.isnan(limerinos_n(0.1, 0.5))


def test_shear_is_that_of_the_falling_water():
    # Uniform flow, R = h: tau = rho g h S = 1000 x 9.81 x 1 x 0.0009.
    assert bed_shear_pa(1.0, 1.0, 0.03) == pytest.approx(8.829, rel=1e-12)


def test_froude_and_shields_by_hand():
    assert froude_number(1.0, 1 / 9.81) == pytest.approx(1.0, rel=1e-12)
    # 1650 x 9.81 x 0.02 m = 323.73 Pa
    assert shields_number(323.73, 0.02) == pytest.approx(1.0, rel=1e-12)
