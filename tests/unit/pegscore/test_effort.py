"""How a club fished, told so that no person shows."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from pegscore.effort import effort, told_apart
from pegscore.predicted import calibration_table
from pegscore.returns import read_visits


def visits_of(rows):
    table = pd.DataFrame(
        rows, columns=["visit", "date", "peg", "hours", "species", "count", "angler"]
    )
    return read_visits(table.assign(date=pd.to_datetime(table["date"])))


@pytest.fixture
def visits():
    rows = [
        (f"a{i}", f"2025-07-{i + 1:02d}", "A", 4.0, "chub", 9, f"x{i % 3}")
        for i in range(9)
    ]
    rows += [
        (f"b{i}", f"2025-08-{i + 1:02d}", "B", 4.0, "chub", 8, f"x{i % 3}")
        for i in range(6)
    ]
    rows += [
        (f"c{i}", f"2025-08-{i + 1:02d}", "C", 6.0, "chub" if i else "", i, f"x{i % 3}")
        for i in range(6)
    ]
    rows += [("d", "2025-12-03", "D", 2.0, "", 0, "x1")]
    return visits_of(rows)


def test_hours_are_summed_by_peg_and_month(visits):
    found = effort(visits, ["A", "B", "C", "D", "E"])
    assert found.by_peg["hours"].tolist()[:3] == [36.0, 24.0, 36.0]
    assert found.by_month.loc[7, "hours"] == 36.0
    assert found.by_month.loc[8, "visits"] == 12.0
    assert found.by_month.loc[1, "hours"] == 0.0


def test_a_peg_or_month_of_one_visit_is_blank_and_an_unfished_one_zero(visits):
    found = effort(visits, ["A", "B", "C", "D", "E"])
    assert np.isnan(found.by_peg.loc["D", "hours"])
    assert np.isnan(found.by_month.loc[12, "hours"])
    assert found.by_peg.loc["E", "hours"] == 0.0


def test_blanks_days_and_what_was_told_are_counted(visits):
    found = effort(visits, ["A"])
    assert (found.visits, found.blanks) == (22, 2)
    assert found.span == ("2025-07-01", "2025-12-03")
    assert found.told["angler"] == 1.0
    assert found.told["water temperature"] == 0.0


def test_pegs_that_the_returns_cannot_tell_apart_share_a_tier(visits):
    told = told_apart(visits, "chub")
    # 81 in 36 h and 48 in 24 h overlap; 15 in 36 h does not
    assert list(told.index) == ["A", "B", "C"]
    assert told["tier"].tolist() == [1, 1, 2]


def test_bins_hold_as_many_pegs_each_and_lose_no_fish():
    rng = np.random.default_rng(3)
    predicted = rng.gamma(2.0, 3.0, 50)
    caught = rng.poisson(predicted)
    table = calibration_table(predicted, caught)
    assert table["pegs"].sum() == 50
    assert np.ptp(table["pegs"]) <= 1
    np.testing.assert_allclose(  # rounding alone
        (table["caught"] * table["pegs"]).sum(), caught.sum(), rtol=1e-12
    )
    assert table["predicted"].is_monotonic_increasing
    assert (
        (table["low"] <= table["caught"]) & (table["caught"] <= table["high"])
    ).all()


def test_the_picture_of_an_honest_forecast_holds_its_own_interval():
    rng = np.random.default_rng(7)
    inside = []
    for _ in range(60):
        predicted = rng.gamma(2.0, 3.0, 80)
        table = calibration_table(predicted, rng.poisson(predicted))
        held = (table["low"] <= table["predicted"]) & (
            table["predicted"] <= table["high"]
        )
        inside.extend(held)
    # exact limits hold at least 80 %; 480 bins: a standard error of 1.8 %
    assert np.mean(inside) >= 0.75
