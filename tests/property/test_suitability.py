"""What must hold of scores whatever the water."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layers.river import SUBSTRATES
from pegscore.errors import PegError
from pegscore.species import read_species
from pegscore.suitability import combine, factors, substrate_spread

SPECIES = read_species()
unit = st.floats(0, 1)
parts = st.lists(unit, min_size=1, max_size=5).map(
    lambda values: {f"factor {i}": value for i, value in enumerate(values)}
)
names = st.sampled_from(sorted(SPECIES))
ROUNDING = 1e-12


@given(parts)
def test_product_minimum_and_geometric_keep_their_order(given_parts):
    product, least, geometric = (
        float(combine(given_parts, rule))
        for rule in ("product", "minimum", "geometric")
    )
    assert 0 <= product <= least + ROUNDING
    assert least <= geometric + ROUNDING
    assert geometric <= np.mean(list(given_parts.values())) + ROUNDING


@given(parts)
def test_one_factor_of_zero_is_enough(given_parts):
    for rule in ("product", "minimum", "geometric"):
        assert combine({**given_parts, "dead": 0.0}, rule) == 0.0


@given(parts, unit)
def test_a_product_falls_as_factors_are_added(given_parts, more):
    assert combine({**given_parts, "more": more}) <= combine(given_parts) + ROUNDING


@given(names, st.floats(0, 20), st.floats(0, 5))
def test_factors_are_shares_of_one(name, depth_m, speed_m_s):
    shares = dict.fromkeys(SUBSTRATES, 1 / len(SUBSTRATES))
    found = factors(SPECIES[name], depth_m=depth_m, speed_m_s=speed_m_s, shares=shares)
    assert set(found) == {"depth", "speed", "substrate"}
    assert all(0 <= float(value) <= 1 for value in found.values())


@given(names)
def test_unknown_in_unknown_out(name):
    nan = float("nan")
    found = factors(
        SPECIES[name], depth_m=nan, speed_m_s=nan, shares={"sand": nan, "silt": 1.0}
    )
    assert all(np.isnan(value) for value in found.values())


@given(names, st.lists(unit, min_size=7, max_size=7).filter(lambda v: sum(v) > 0.1))
def test_the_spread_of_odds_never_passes_a_half(name, odds):
    """Of numbers in [0, 1] no standard deviation is above 0.5 (Popoviciu)."""
    total = sum(odds)
    shares = {kind: odd / total for kind, odd in zip(SUBSTRATES, odds, strict=True)}
    assert 0 <= float(substrate_spread(SPECIES[name], shares)) <= 0.5 + ROUNDING


def test_an_unknown_rule_is_named():
    with pytest.raises(PegError, match="rule 'sum' is not known"):
        combine({"depth": 1.0}, "sum")


def test_nothing_cannot_be_combined():
    with pytest.raises(PegError, match="no factor to combine"):
        combine({})
