"""The discharge a level stands for."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from layers.errors import LayerError
from layers.rating import discharge, fit_rating, flow_at
from layers.river import Rating


def gaugings(levels, *, a=8.0, b=5 / 3, offset_m=0.1):
    levels = np.asarray(levels, float)
    return pd.DataFrame({"level_m": levels, "flow_m3_s": a * (levels - offset_m) ** b})


def test_no_water_runs_below_the_level_of_no_flow():
    rating = Rating(a=24.0, b=1.7, offset_m=-0.35)
    assert discharge(rating, [-0.35, -2.0]).tolist() == [0.0, 0.0]


def test_the_club_s_rating_goes_before_its_gaugings():
    found = flow_at(0.5, Rating(a=4.0, b=1.0, offset_m=0.0), gaugings([0.3, 0.6, 1]))
    assert found.flow_m3_s == pytest.approx(2.0, rel=1e-12)
    assert "river.toml" in found.source


def test_three_gaugings_hold_the_exponent_of_a_wide_channel():
    fit = fit_rating(*gaugings([0.4, 0.7, 1.2], b=1.9).to_numpy().T)
    assert fit.rating.b == 5 / 3


def test_three_gaugings_of_a_wide_channel_find_its_curve():
    found = flow_at(0.9, None, gaugings([0.4, 0.7, 1.2]))
    # Search tolerance of the offset is 1e-10 m.
    assert found.flow_m3_s == pytest.approx(8.0 * 0.8 ** (5 / 3), rel=1e-6)


def test_two_gaugings_make_no_rating():
    assert flow_at(0.5, None, gaugings([0.3, 0.6])) is None


def test_two_gaugings_are_refused_with_their_number():
    with pytest.raises(LayerError, match=r"^2 gaugings"):
        fit_rating([0.3, 0.6, 0.6], [1.0, 2.0, 2.1])


def test_a_dry_gauging_does_not_stop_the_fit():
    table = pd.concat([gaugings([0.4, 0.7, 1.2]), gaugings([0.1])])
    assert fit_rating(table["level_m"], table["flow_m3_s"]).count == 3


def test_the_order_of_gaugings_does_not_matter():
    table = gaugings([0.4, 0.5, 0.8, 1.1, 1.5, 1.9], b=2.0)
    table["flow_m3_s"] *= [1.05, 0.97, 1.0, 1.03, 0.96, 1.0]
    one = fit_rating(table["level_m"], table["flow_m3_s"])
    other = fit_rating(table["level_m"][::-1], table["flow_m3_s"][::-1])
    assert one == other


@pytest.mark.parametrize("level_m", [0.15, 3.0])
def test_a_level_far_beyond_the_gaugings_is_said_and_doubted(level_m):
    table = gaugings([0.4, 0.5, 0.8, 1.1, 1.5])
    inside, beyond = (flow_at(level, None, table) for level in (0.8, level_m))
    assert "stretched beyond" in beyond.source
    assert "stretched" not in inside.source
    assert beyond.relative_sd > inside.relative_sd


def test_the_scatter_of_gaugings_is_the_error_of_the_rating():
    rng = np.random.default_rng(5)
    table = gaugings(np.linspace(0.3, 2.0, 200))
    table["flow_m3_s"] *= np.exp(rng.normal(0, 0.08, 200))
    fit = fit_rating(table["level_m"], table["flow_m3_s"])
    # 200 draws give a standard deviation to about 5 %; three of those.
    assert fit.relative_sd == pytest.approx(0.08, rel=0.15)
