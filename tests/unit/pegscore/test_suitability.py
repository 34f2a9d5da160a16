"""From water to a score, cell by cell; unknown water never scores nothing."""

from __future__ import annotations

import numpy as np
import pytest

from layers.river import SUBSTRATES
from pegscore.species import read_species
from pegscore.suitability import (
    band,
    combine,
    factors,
    substrate_spread,
    weighted_usable_area,
)

BARBEL = read_species()["barbel"]  # silt 0.1, sand 0.4, cobble 1 (its file)
NAN = float("nan")
EXACT = 1e-12  # a few sums and products of decimals


def test_the_bottoms_factor_is_the_mean_of_its_shares():
    """0.5 x 0.1 + 0.3 x 0.4 + 0.2 x 1 = 0.37 in the first cell, silt in the second."""
    shares = {"silt": [0.5, 1.0], "sand": [0.3, 0.0], "cobble": [0.2, 0.0]}
    found = factors(BARBEL, depth_m=[1.0, 1.0], speed_m_s=[0.5, 0.5], shares=shares)
    np.testing.assert_allclose(found["substrate"], [0.37, 0.1], rtol=EXACT)


@pytest.mark.parametrize("shares", [None, {}])
def test_an_unsurveyed_bottom_is_no_factor(shares):
    found = factors(BARBEL, depth_m=[1.0], speed_m_s=[0.5], shares=shares)
    assert set(found) == {"depth", "speed"}


def test_a_cell_of_unknown_share_is_unknown_even_where_that_share_scores_nothing():
    grayling = read_species()["grayling"]
    assert grayling.substrate["clay"] == 0.0
    shares = {"clay": [NAN, 0.0], "gravel": [1.0, 1.0]}
    found = factors(grayling, depth_m=[1, 1], speed_m_s=[1, 1], shares=shares)
    np.testing.assert_array_equal(found["substrate"], [NAN, 1.0])


@pytest.mark.parametrize("rule", ["product", "geometric", "minimum"])
def test_one_unknown_factor_makes_the_score_unknown(rule):
    found = combine({"depth": [0.0, 1.0, 0.5], "speed": [NAN, NAN, 0.5]}, rule)
    assert np.isnan(found[:2]).all()
    assert np.isfinite(found[2])


def test_the_geometric_mean_of_equal_factors_is_each_of_them():
    parts = {name: [0.3, 0.8] for name in ("depth", "speed", "substrate")}
    np.testing.assert_allclose(combine(parts, "geometric"), [0.3, 0.8], rtol=EXACT)


def test_a_raster_keeps_its_shape():
    depth_m = np.full((2, 3), 1.0)
    found = factors(BARBEL, depth_m=depth_m, speed_m_s=depth_m * 0.5, shares=None)
    assert combine(found).shape == (2, 3)


def test_scores_leave_the_layers_as_they_were():
    depth_m = np.array([0.3, 1.0])
    depth_m.setflags(write=False)
    combine(factors(BARBEL, depth_m=depth_m, speed_m_s=depth_m, shares=None))
    np.testing.assert_array_equal(depth_m, [0.3, 1.0])


def test_the_spread_is_that_of_a_draw_by_the_shares():
    """Half silt 0.1, half cobble 1: mean 0.55, each 0.45 away from it."""
    found = substrate_spread(BARBEL, {"silt": [0.5, 1.0], "cobble": [0.5, 0.0]})
    np.testing.assert_allclose(found, [0.45, 0.0], rtol=EXACT, atol=EXACT)


def test_usable_area_leaves_unknown_cells_out():
    """0.5 x 10 + 1 x 4."""
    found = weighted_usable_area([0.5, 1.0, NAN], [10.0, 4.0, 7.0])
    assert found == pytest.approx(9.0, rel=EXACT)


def test_usable_area_of_unknown_water_is_unknown_and_of_bad_water_is_none():
    assert np.isnan(weighted_usable_area([NAN, NAN], [1.0, 2.0]))
    assert weighted_usable_area([0.0, 0.0], [1.0, 2.0]) == 0.0


@pytest.mark.parametrize(
    ("score", "name"),
    [
        (1.0, "optimum"),
        (0.99, "acceptable"),
        (0.5, "acceptable"),
        (0.49, "marginal"),
        (0.01, "marginal"),
        (0.0, "unacceptable"),
        (NAN, "unknown"),
    ],
)
def test_bands_are_the_published_ones_and_unknown_is_none_of_them(score, name):
    """Optimum 1, acceptable 0.5-0.99, marginal 0.01-0.49, unacceptable 0.

    Hyra 1978, Instream Flow Information Paper 6, p. 19.
    """
    assert band(score) == name


def test_every_surveyed_class_can_be_scored():
    for kind in SUBSTRATES:
        found = factors(BARBEL, depth_m=1.0, speed_m_s=0.5, shares={kind: 1.0})
        assert 0.0 <= float(found["substrate"]) <= 1.0
