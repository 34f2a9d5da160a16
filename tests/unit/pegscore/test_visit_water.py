"""Each visit is described by its peg's water at the visit's own level."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from pegscore.visit_water import at_own_level, level_notes


def water(depths, paces=(0.3, 0.5)) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "peg": ["1", "2"],
            "chainage_m": [10.0, 50.0],
            "log_prior": [-1.0, -2.0],
            "depth_m": depths,
            "speed_m_s": paces,
            "bed_grade": [3.0, np.nan],
        }
    )


TABLES = {
    0.4: water([1.0, np.nan], (0.30, np.nan)),
    0.6: water([1.2, 0.2], (0.40, 0.10)),
    1.0: water([1.8, 0.6], (0.80, 0.50)),
}


def visits(pegs, levels) -> pd.DataFrame:
    return pd.DataFrame({"peg": pegs, "level_m": levels})


def test_water_goes_straight_between_the_levels_about_the_visits_own():
    rows = at_own_level(visits(["1"] * 4, [0.4, 0.5, 0.6, 0.7]), TABLES, usual_m=0.6)
    # by hand: halfway from 1.0 to 1.2 is 1.1; a quarter from 1.2 to 1.8 is 1.35
    np.testing.assert_allclose(rows["depth_m"], [1.0, 1.1, 1.2, 1.35], rtol=1e-12)
    np.testing.assert_allclose(rows["speed_m_s"], [0.3, 0.35, 0.4, 0.5], rtol=1e-12)
    assert rows["chainage_m"].tolist() == [10.0] * 4


def test_nothing_is_guessed_beyond_the_built_levels():
    rows = at_own_level(visits(["1", "1"], [0.1, 1.7]), TABLES, usual_m=0.6)
    assert rows["depth_m"].tolist() == [1.0, 1.8]


def test_a_visit_that_tells_no_level_has_the_usual_water():
    rows = at_own_level(visits(["2"], [np.nan]), TABLES, usual_m=0.8)
    # by hand: halfway from 0.2 to 0.6
    assert rows["depth_m"].tolist() == pytest.approx([0.4])


def test_a_peg_dry_at_one_level_has_the_other_ones_water_and_unknown_stays_unknown():
    rows = at_own_level(visits(["2", "2"], [0.5, 0.9]), TABLES, usual_m=0.6)
    np.testing.assert_allclose(rows["depth_m"], [0.2, 0.5], rtol=1e-12)
    assert rows["bed_grade"].isna().all()


def test_one_built_level_describes_every_visit():
    rows = at_own_level(
        visits(["1", "2", "9"], [0.2, 0.9, 0.6]), {0.6: TABLES[0.6]}, usual_m=0.6
    )
    assert rows["peg"].tolist() == ["1", "2"]  # peg 9 has no water
    assert rows["depth_m"].tolist() == [1.2, 0.2]


def test_what_is_not_at_its_own_level_is_said():
    told = level_notes(pd.Series([0.3, 0.5, 1.4, np.nan]), [0.4, 1.0], usual_m=0.6)
    assert told[0].startswith("1 visits tell no level")
    assert told[1].startswith("2 visits had the river below 0.40 m or above 1.00 m")
    assert level_notes(pd.Series([0.4, 1.0]), [0.4, 1.0], usual_m=0.6) == []
    assert "2 visits" in level_notes(pd.Series([0.4, 1.0]), [0.6], usual_m=0.6)[0]
