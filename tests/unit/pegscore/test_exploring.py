"""Where one more visit would teach most."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import gamma, nbinom

from pegscore.exploring import untaught_sd, visit_information
from pegscore.exploring_answer import exploring_table
from pegscore.returns import read_visits


def test_what_a_visit_teaches_is_near_the_exact_gain_of_a_gamma_poisson_peg():
    # A gamma prior of shape a has log-variance about 1 / a; a Poisson count of mean m
    # takes the shape to a + count. Mean fall of the differential entropy, by sum.
    shape, mean = 30.0, 4.0
    counts = np.arange(200)
    chance = nbinom.pmf(counts, shape, shape / (shape + mean))
    after = np.array([_log_entropy(shape + count) for count in counts])
    exact = _log_entropy(shape) - float(chance @ after)
    told = float(visit_information(mean, np.sqrt(1 / shape), hours=1.0))
    # the normal approximation at shape 30: within a tenth
    assert told == pytest.approx(exact, rel=0.1)


def _log_entropy(shape):
    """Entropy of the logarithm of a gamma variable, whose scale does not matter."""
    return float(gamma(shape).entropy() - gamma(shape).expect(np.log))


@given(
    rate=st.floats(0.01, 5.0),
    sd=st.floats(0.01, 2.0),
    more=st.floats(1.01, 5.0),
)
def test_the_less_is_known_and_the_more_is_caught_the_more_a_visit_teaches(
    rate, sd, more
):
    here = visit_information(rate, sd)
    assert here >= 0
    assert visit_information(rate, sd * more) > here
    assert visit_information(rate * more, sd) > here
    assert visit_information(rate, sd, clump=1.0) < here


@given(rate=st.floats(0.01, 5.0), hours=st.floats(0.0, 500.0))
def test_hours_fished_only_ever_make_a_peg_surer(rate, hours):
    assert untaught_sd(rate, hours + 1.0) < untaught_sd(rate, hours)
    # beyond a few fish the error is that of the count: 1 / sqrt(fish)
    many = 1e6
    assert untaught_sd(rate, many / rate) == pytest.approx(many**-0.5, rel=1e-3)


@pytest.fixture
def visits():
    rows = [
        {
            "visit": f"{peg}-{day}",
            "date": pd.Timestamp("2025-07-01") + pd.Timedelta(days=day),
            "peg": peg,
            "hours": 5.0,
            "species": "chub",
            "count": 2,
            "angler": f"a{day % 4}",
        }
        for peg, days in (("1", 40), ("2", 2))
        for day in range(days)
    ]
    return read_visits(pd.DataFrame(rows))


def test_a_popular_peg_is_not_sent_more_visits_for_its_popularity(visits):
    ranking = pd.DataFrame(
        {
            "species": "chub",
            "peg": ["1", "2", "3", "4"],
            "score": [0.5, 0.5, 0.5, np.nan],
        }
    )
    table = exploring_table(ranking, visits, "chub").set_index("peg")
    assert list(table.index) == ["3", "2", "1"]  # the barred peg 4 is not there
    # 84 fish in 210 hours at pegs of equal score
    np.testing.assert_allclose(table["per_hour"], 0.4, rtol=1e-12)  # rounding alone
    assert table.loc["1", "hours"] == 200.0
    assert np.isnan(table.loc["2", "hours"])  # two visits tell of a person
    assert table.loc["3", "hours"] == 0.0
