"""Composite scores and usable areas against published worked numbers.

Hyra 1978, Instream Flow Information Paper 6 (US Fish & Wildlife Service): the
composite of p. 13 and Table 3 of p. 15. McMahon et al. 1984, FWS/OBS-82/10.72:
index = class mean over the largest class mean. Bovee 1978: mixture codes.
"""

from __future__ import annotations

import tomllib

import numpy as np
import pytest

from pegscore.curves import Curve, CurvePoint
from pegscore.species import read_species, shipped_folder
from pegscore.suitability import band, combine, factors, weighted_usable_area

VELOCITY = np.array([1.0, 0.8, 0.4, 0.0])
DEPTH = np.array([0.0, 0.3, 0.8, 1.0])
AREA_SQ_FT = np.array(
    [[500, 400, 100, 0], [600, 700, 800, 300], [100, 300, 500, 100], [0, 0, 100, 0]]
)
EXACT = 1e-12  # a handful of products of decimals


def table_3(rule: str = "product") -> np.ndarray:
    velocity, depth = np.broadcast_arrays(VELOCITY[None, :], DEPTH[:, None])
    return combine({"depth": depth, "speed": velocity}, rule=rule)


def test_the_published_composite():
    """Depth 2.6 ft scores 0.9 and velocity 6 ft/s scores 0.24: 0.216."""
    assert combine({"depth": 0.9, "speed": 0.24}) == pytest.approx(0.216, rel=EXACT)


def test_the_published_weighted_usable_area():
    assert AREA_SQ_FT.sum() == 4500
    assert weighted_usable_area(table_3(), AREA_SQ_FT) == pytest.approx(916, rel=EXACT)


def test_the_published_rows_and_columns():
    weighted = table_3() * AREA_SQ_FT
    np.testing.assert_allclose(weighted.sum(axis=1), [0, 444, 432, 40], rtol=EXACT)
    np.testing.assert_allclose(weighted.sum(axis=0), [260, 360, 296, 0], rtol=EXACT)


def test_other_rules_rank_as_arithmetic_says():
    """product <= minimum <= geometric, summed over the same published areas."""
    areas = [
        weighted_usable_area(table_3(rule), AREA_SQ_FT)
        for rule in ("product", "minimum", "geometric")
    ]
    assert areas == sorted(areas)
    assert areas[1] == pytest.approx(1190, rel=EXACT)  # by hand: sums of the smaller


def test_the_published_class_mean_rule():
    """Standing crop by share of riffles 0.82, 2.09, 3.35, 0 -> 0.25, 0.62, 1, 0."""
    crop = np.array([0.82, 2.09, 3.35, 0.0])
    found = crop / crop.max()
    np.testing.assert_allclose(found, [0.25, 0.62, 1.0, 0.0], atol=0.006)  # two digits


def test_the_published_five_point_curve_and_its_bands():
    """Physical limits 0, safety limits 0.5, optimum 1 (p. 19)."""
    heights = [0.0, 0.5, 1.0, 0.5, 0.0]
    places = [0.5, 1.0, 2.0, 4.0, 6.0]
    curve = Curve(
        tuple(CurvePoint(x, y, "S") for x, y in zip(places, heights, strict=True))
    )
    np.testing.assert_allclose(curve(places), heights, rtol=0, atol=0)
    assert [band(float(y)) for y in curve([2.0, 1.0, 0.75, 0.2])] == [
        "optimum",
        "acceptable",
        "marginal",
        "unacceptable",
    ]


@pytest.mark.parametrize(
    ("species", "depth_m", "speed_m_s", "wanted"),
    [
        ("grayling", 0.4, 0.3, {"depth": 0.55, "speed": 0.85}),
        ("bream", 1.5, 0.3, {"depth": 0.7, "speed": 0.5}),
        ("pike", 2.0, 0.5, {"depth": 1.0, "speed": 0.1}),
    ],
)
def test_curves_read_by_hand_between_their_points(species, depth_m, speed_m_s, wanted):
    """Linear interpolation worked by hand from the printed points."""
    found = factors(
        read_species()[species], depth_m=depth_m, speed_m_s=speed_m_s, shares=None
    )
    for name, value in wanted.items():
        assert float(found[name]) == pytest.approx(value, rel=1e-9)


def test_the_trades_rule_of_thumb_for_barbel():
    """Common practice, no source: steady pace over stones at 1.5 m is best."""
    barbel = read_species()["barbel"]

    def score(depth_m: float, speed_m_s: float, bottom: str) -> float:
        parts = factors(
            barbel, depth_m=depth_m, speed_m_s=speed_m_s, shares={bottom: 1.0}
        )
        return float(combine(parts))

    for stones in ("gravel", "cobble"):
        best = score(1.5, 0.5, stones)
        for mud in ("silt", "clay"):
            assert best > 2 * score(1.5, 0.1, mud)
        assert best > score(0.4, 0.5, stones)


def test_oxygen_needs_keep_the_published_order():
    """At 3.5 mg/l trout < roach < carp = tench (fisheries officer's order)."""
    folder = shipped_folder()
    told = tomllib.loads((folder.parent / "oxygen.toml").read_text("utf-8"))

    def suitability(species: str) -> float:
        limits = tomllib.loads((folder / f"{species}.toml").read_text("utf-8"))
        points = told[limits["limits"]["oxygen"]]["points"]
        curve = Curve(tuple(CurvePoint(*point) for point in points))
        return float(curve(3.5))

    assert suitability("brown_trout") < suitability("roach") < suitability("carp")
    assert suitability("carp") == suitability("tench")
