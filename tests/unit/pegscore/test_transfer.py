"""A ranker on a river it was not trained on."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from pegscore.errors import RankerRefused
from pegscore.evaluation import fit_ranker
from pegscore.ranker import PegRanker
from pegscore.ranker_file import read_foreign
from pegscore.trained import keep
from pegscore.transfer import transferred


@pytest.fixture(scope="module")
def river() -> pd.DataFrame:
    """Forty pegs, ten visits each; deep pegs and even pegs catch more."""
    rng = np.random.default_rng(5)
    pegs = pd.DataFrame(
        {
            "peg": [str(number) for number in range(40)],
            "chainage_m": np.arange(40) * 30.0,
            "depth_m": rng.uniform(0.5, 2.5, 40),
            "log_prior": rng.normal(-1.0, 0.3, 40),
        }
    )
    own = np.where(np.arange(40) % 2 == 0, 0.5, -0.5)
    rate = np.exp(-1.0 + 0.8 * (pegs["depth_m"] - 1.5) + own)
    rows = pegs.loc[pegs.index.repeat(10)].assign(hours=4.0)
    rows["fish"] = rng.poisson(rate.loc[rows.index] * 4.0)
    return rows.reset_index(drop=True)


@pytest.fixture(scope="module")
def trained(river):
    ranker = PegRanker(
        prior="log_prior", features=("depth_m",), peg="peg", chainage="chainage_m"
    )
    return keep(
        fit_ranker(ranker, river),
        inflation=(1.5, 1.0),
        for_fished=True,
        new_share=0.0,
        records={"0": 10},
    )


@pytest.fixture
def pegs(river):
    return river.drop_duplicates("peg").reset_index(drop=True)


def test_nothing_of_the_other_rivers_pegs_is_left(trained, pegs):
    moved = transferred(trained)
    assert moved.pegs == frozenset()
    assert moved.records == {}
    names = {term.column for term in moved.design.terms}
    assert names == {"log_prior", "depth_m"}
    told = moved.parts(pegs)
    assert set(told) == names


def test_a_peg_of_the_same_name_is_not_taken_for_the_other_rivers(trained, pegs):
    twins = pegs.assign(depth_m=1.5, log_prior=-1.0)
    rates = transferred(trained).log_rate(twins)
    np.testing.assert_allclose(rates, rates[0], rtol=0, atol=1e-12)  # no peg differs
    assert np.ptp(trained.log_rate(twins)) > 0.1


def test_the_score_is_half_the_preferences_and_half_what_was_learnt(trained, pegs):
    moved = transferred(trained)
    columns = moved.design.columns(pegs)
    whole = columns[:, 1:] @ moved.coef[1:]
    prior = trained.slope * columns[:, 1]
    # the same sums in another order: rounding alone
    np.testing.assert_allclose(
        moved.log_rate(pegs), 0.5 * whole + 0.5 * prior, rtol=0, atol=1e-12
    )


def test_the_error_holds_the_whole_spread_between_pegs(trained, pegs):
    moved = transferred(trained)
    assert moved.elsewhere_sd > 0.2  # pegs of the made river differ by 0.5 in logs
    new, _ = trained.inflation
    assert np.all(moved.log_rate_sd(pegs) >= new * moved.elsewhere_sd - 1e-12)


def test_twice_transferred_is_once_transferred(trained, pegs):
    once, twice = transferred(trained), transferred(transferred(trained))
    np.testing.assert_array_equal(once.log_rate(pegs), twice.log_rate(pegs))
    np.testing.assert_array_equal(once.log_rate_sd(pegs), twice.log_rate_sd(pegs))


def test_another_rivers_file_is_read_with_its_name(trained, tmp_path):
    species = {"chub": {"ranker": trained.as_record()}, "pike": {"ranker": None}}
    told = {"river": "Other Water", "inputs": {}, "species": species}
    (tmp_path / "ranker.json").write_text(json.dumps(told), "utf-8")
    kept, river = read_foreign(tmp_path)
    assert list(kept) == ["chub"]
    assert river == "Other Water"
    assert kept["chub"].new_share == 0.5


def test_a_file_in_which_nothing_proved_itself_is_refused(tmp_path):
    path = tmp_path / "ranker.json"
    told = {"river": "Other Water", "species": {"pike": {"ranker": None}}}
    path.write_text(json.dumps(told), "utf-8")
    with pytest.raises(RankerRefused, match="proved itself"):
        read_foreign(path)


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(RankerRefused, match="cannot be read"):
        read_foreign(tmp_path / "nowhere.json")
