"""The water that returns cover, and who is told when another river lies outside it."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from pegscore.commands import rank
from pegscore.covered_water import covered_water, foreign_words, outside
from pegscore.errors import PegError

WATER = {"depth_m": (1.0, 2.0), "speed_m_s": (0.2, 0.6)}


def pegs(depths, speeds) -> pd.DataFrame:
    return pd.DataFrame(
        {"depth_m": depths, "speed_m_s": speeds, "silt_share": 0.0, "gravel_share": 1.0}
    )


def test_the_range_leaves_out_a_twentieth_at_each_end():
    visits = pd.DataFrame({"depth_m": [*np.linspace(1, 3, 101), np.nan]})
    (low, high), *others = covered_water(visits).values()
    assert (low, high) == pytest.approx((1.1, 2.9))  # 5 and 95 of 101 even steps
    assert not others  # nothing is told of pace and bottom


def test_a_peg_outside_in_one_feature_counts_once_and_unknown_water_not_at_all():
    rows = pegs([1.5, 2.5, 0.5, np.nan], [0.4, 0.9, np.nan, np.nan])
    shares = outside(rows, WATER)
    # of the three pegs of known water two are too deep or too shallow
    assert shares["any"] == pytest.approx(2 / 3)
    assert shares["depth_m"] == pytest.approx(2 / 3)
    assert shares["speed_m_s"] == pytest.approx(1 / 2)


def test_more_than_a_quarter_outside_is_said_and_a_quarter_is_not():
    ranker = SimpleNamespace(water=WATER)
    quarter = pegs([1.5, 1.5, 1.5, 2.5], [0.4] * 4)
    half = pegs([1.5, 1.5, 2.5, 2.5], [0.4] * 4)
    assert foreign_words(quarter, ranker) == ""
    said = foreign_words(half, ranker)
    assert "50 % of these pegs" in said
    assert "depth at 50 %" in said
    assert "pace" not in said


def test_a_ranker_that_does_not_tell_its_water_is_not_taken_for_covered():
    said = foreign_words(pegs([1.5], [0.4]), SimpleNamespace(water={}))
    assert "cannot be said" in said


def test_no_catch_an_hour_is_told_from_another_river_alone(monkeypatch):
    monkeypatch.setattr(rank, "run_visits", lambda _: range(29))
    with pytest.raises(PegError, match="29 visits"):
        rank._check_explorable(None, {"chub": None})
    monkeypatch.setattr(rank, "run_visits", lambda _: range(30))
    rank._check_explorable(None, {"chub": None})
