"""Grain sizes against USGS Open-File Report 2006-1195 and Bovee's code table."""

from __future__ import annotations

import numpy as np
import pytest

from layers.grain import WENTWORTH, decode, phi, size_class

# USGS OFR 2006-1195, table of size classes, millimetres.
TABLE_MM = {
    "clay": (0.00097656, 0.00390625),
    "silt": (0.00390625, 0.0625),
    "sand": (0.0625, 2.0),
    "gravel": (2.0, 64.0),
    "cobble": (64.0, 256.0),
}


@pytest.mark.parametrize("word", sorted(TABLE_MM))
def test_the_bounds_are_those_of_the_published_table(word):
    # The table prints five significant figures.
    np.testing.assert_allclose(WENTWORTH[word], TABLE_MM[word], rtol=1e-5, atol=0)


def test_boulders_start_where_the_table_says():
    assert WENTWORTH["boulder"].low_mm == 256.0


@pytest.mark.parametrize(
    ("diameter_mm", "expected"),
    [(1.0, 0.0), (2.0, -1.0), (64.0, -6.0), (256.0, -8.0), (0.0625, 4.0)],
)
def test_phi_of_powers_of_two_is_exact(diameter_mm, expected):
    assert float(phi(diameter_mm)) == expected


@pytest.mark.parametrize(
    ("diameter_mm", "word"),
    [
        (0.002, "clay"),
        (0.03, "silt"),  # not split at 0.031, a slip seen in secondary tables
        (0.0625, "sand"),
        (1.9, "sand"),
        (3.0, "gravel"),  # granule
        (40.0, "gravel"),
        (250.0, "cobble"),  # not 246, another slip
        (256.0, "boulder"),
    ],
)
def test_grains_get_the_table_s_word(diameter_mm, word):
    assert size_class(diameter_mm) == word


def test_the_published_mixture_rule_splits_four_point_two():
    assert decode(4.2) == {"sand": 0.8, "gravel": 0.2}


def test_the_published_mixture_rule_splits_five_and_a_half():
    assert decode(5.5) == {"gravel": 0.5, "rubble": 0.5}
