import math

import pytest

from pegscore.errors import BaitsRefused
from pegscore.float_guide import float_weight, read_float_guide

SHIPPED = read_float_guide()


def own(folder, text):
    (folder / "float_guide.toml").write_text(text, encoding="utf-8")
    return read_float_guide(folder)


GOOD = """
least_g = 1.0
[[pace]]
up_to_m_s = 0.3
grams_per_m = 2
mark = "club"
words = "our own"
[[pace]]
grams_per_m = 5
mark = "club"
words = "a big one"
"""


@pytest.mark.parametrize(
    ("speed_m_s", "grams"),
    # 2 m deep: grams a metre of each band, at its end and just beyond it
    [(0.10, 0.8), (0.11, 1.3), (0.25, 1.3), (0.26, 2.4), (0.8, 4.4), (1.2, 8.0)],
)
def test_weight_goes_by_the_band_of_pace(speed_m_s, grams):
    weight = float_weight(SHIPPED, depth_m=2.0, speed_m_s=speed_m_s)
    assert weight.grams == pytest.approx(grams)


def test_no_float_is_lighter_than_the_least():
    assert float_weight(SHIPPED, depth_m=0.3, speed_m_s=0.05).grams == 0.4


def test_too_fast_for_a_float_is_said():
    weight = float_weight(SHIPPED, depth_m=1.0, speed_m_s=1.5)
    assert weight.grams == 0
    assert "too fast" in weight.words


@pytest.mark.parametrize(("depth_m", "speed_m_s"), [(math.nan, 0.3), (1.0, math.nan)])
def test_unknown_water_names_no_weight(depth_m, speed_m_s):
    weight = float_weight(SHIPPED, depth_m=depth_m, speed_m_s=speed_m_s)
    assert math.isnan(weight.grams)


def test_every_shipped_band_says_what_it_rests_on():
    assert {row["mark"] for row in SHIPPED["pace"]} == {"C", "P"}


def test_a_clubs_guide_replaces_the_shipped_one(tmp_path):
    weight = float_weight(own(tmp_path, GOOD), depth_m=2.0, speed_m_s=0.2)
    assert (weight.grams, weight.words, weight.shot) == (4.0, "our own", "")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("least_g = 1.0", "least_g = 'one'", "least_g is 'one'"),
        ("grams_per_m = 5", "grams_per_m = -5", "grams_per_m is -5"),
        ("up_to_m_s = 0.3", "", "let it grow"),
        ("grams_per_m = 5", "grams_per_m = 5\nup_to_m_s = 0.2", "let it grow"),
        ('mark = "club"', 'mark = "X"', "mark is 'X'"),
        ('words = "our own"', "", "words is None"),
        ("least_g", "[[pace]", "not TOML"),
        ("least_g = 1.0", "least_g = 1\nshot = {BB = 0}", "shot is"),
    ],
)
def test_a_faulty_guide_is_refused_with_the_value(tmp_path, old, new, said):
    with pytest.raises(BaitsRefused, match=said):
        own(tmp_path, GOOD.replace(old, new))
