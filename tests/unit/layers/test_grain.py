"""Words and codes for the bottom."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layers.errors import LayerError
from layers.grain import GRAIN_ORDER, decode, phi, size_class, soften, typical_mm
from layers.river import SUBSTRATES


def test_the_grain_order_holds_every_word_of_the_survey():
    assert sorted(GRAIN_ORDER) == sorted(SUBSTRATES)


def test_a_whole_code_is_one_class():
    assert decode(3) == {"silt": 1.0}


@pytest.mark.parametrize("code", [0.9, 8.5, math.nan])
def test_a_code_outside_the_scheme_is_refused_with_its_value(code):
    with pytest.raises(LayerError, match=f"code is {code}"):
        decode(code)


@pytest.mark.parametrize("diameter_mm", [0.0, -1.0, math.nan])
def test_a_grain_without_size_is_refused_with_its_value(diameter_mm):
    with pytest.raises(LayerError, match=f"{diameter_mm} mm"):
        size_class(diameter_mm)


def test_phi_keeps_unknown_unknown():
    assert np.isnan(phi([np.nan])).all()


def test_bedrock_has_no_grain():
    assert math.isnan(typical_mm("bedrock"))


def test_the_middle_of_a_class_is_geometric():
    assert typical_mm("gravel") == pytest.approx(math.sqrt(2 * 64), rel=1e-12)


def test_an_unknown_word_is_refused_with_the_known_ones():
    with pytest.raises(LayerError, match=r"'marl'.*gravel"):
        typical_mm("marl")


@pytest.mark.parametrize("word", GRAIN_ORDER)
def test_softened_shares_sum_to_one_and_keep_the_word_first(word):
    shares = soften(word, GRAIN_ORDER)
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-12)
    assert max(shares, key=shares.__getitem__) == word


def test_softening_gives_a_tenth_to_each_neighbour():
    shares = soften("gravel", GRAIN_ORDER)
    assert {k: v for k, v in shares.items() if v} == {
        "sand": 0.1,
        "gravel": 0.8,
        "cobble": 0.1,
    }


def test_the_only_class_there_is_stays_whole():
    assert soften("sand", ("sand",)) == {"sand": 1.0}
