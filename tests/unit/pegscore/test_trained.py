"""A kept ranker says the same as the fitted one, and nothing of any angler."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from pegscore.errors import RankerRefused
from pegscore.ranker import PegRanker
from pegscore.trained import keep, unkeep

FEATURES = ("depth_m",)


def fitted(rng) -> tuple[PegRanker, pd.DataFrame]:
    n, pegs = 300, 20
    peg = rng.integers(pegs, size=n)
    table = pd.DataFrame(
        {
            "peg": [f"p{at}" for at in peg],
            "angler": [f"secret-{at}" for at in rng.integers(9, size=n)],
            "log_prior": rng.normal(size=pegs)[peg],
            "depth_m": rng.uniform(0.5, 2, pegs)[peg],
            "chainage_m": 40.0 * peg,
            "water_c": rng.normal(14, 2, n),
        }
    )
    ranker = PegRanker(
        prior="log_prior",
        features=FEATURES,
        conditions=("water_c",),
        peg="peg",
        groups=("angler",),
        chainage="chainage_m",
    )
    fish = rng.poisson(np.exp(table["log_prior"]))
    ranker.fit(table[ranker.columns()], fish)
    return ranker, ranker.standard(table.drop_duplicates("peg").reset_index(drop=True))


def kept(ranker, **options):
    told = {
        "inflation": (1.0, 1.0),
        "for_fished": True,
        "new_share": 0.5,
        "records": {"p1": 7},
    }
    return keep(ranker, **(told | options))


def test_fished_pegs_keep_their_rates_and_errors(rng):
    ranker, pegs = fitted(rng)
    trained = kept(ranker)
    rates = ranker.log_rate(pegs[ranker.columns()])
    gaps = trained.log_rate(pegs) - rates
    np.testing.assert_allclose(gaps, gaps[0], atol=1e-12)  # the level is left out
    np.testing.assert_allclose(
        trained.log_rate_sd(pegs), ranker.log_rate_sd(pegs[ranker.columns()]), rtol=1e-9
    )


def test_what_was_kept_comes_back_from_json_to_the_last_digit(rng):
    ranker, pegs = fitted(rng)
    trained = kept(ranker)
    again = unkeep(json.loads(json.dumps(trained.as_record())))
    np.testing.assert_array_equal(again.log_rate(pegs), trained.log_rate(pegs))
    np.testing.assert_allclose(
        again.log_rate_sd(pegs), trained.log_rate_sd(pegs), rtol=1e-12
    )
    assert again.records == {"p1": 7}


def test_no_angler_is_in_the_file(rng):
    ranker, _ = fitted(rng)
    assert "secret" not in json.dumps(kept(ranker).as_record())


def test_inflation_multiplies_the_errors_of_new_and_fished_pegs_apart(rng):
    ranker, pegs = fitted(rng)
    both = pd.concat([pegs.head(1), pegs.head(1).assign(peg="never fished")])
    wide = kept(ranker, new_share=1.0, inflation=(1.2, 1.5)).log_rate_sd(both)
    plain = kept(ranker, new_share=1.0).log_rate_sd(both)
    np.testing.assert_allclose(wide / plain, [1.5, 1.2], rtol=1e-12)


def test_what_half_a_ranker_leaves_out_is_part_of_a_new_pegs_error(rng):
    ranker, pegs = fitted(rng)
    new = pegs.assign(peg="never fished")
    half, full = kept(ranker), kept(ranker, new_share=1.0)
    gap = half.log_rate(new) - full.log_rate(new)
    expected = np.hypot(full.log_rate_sd(new), gap - gap.mean())
    np.testing.assert_allclose(half.log_rate_sd(new), expected, rtol=1e-12)


def test_where_it_did_not_prove_itself_new_pegs_stay_in_the_preferences_order(rng):
    ranker, pegs = fitted(rng)
    new = pegs.assign(peg="never fished")
    trained = kept(ranker, new_share=0.0)
    assert set(trained.basis(new)) == {"preference"}
    order = np.argsort(trained.log_rate(new))
    np.testing.assert_array_equal(order, np.argsort(new["log_prior"].to_numpy()))


def test_a_new_peg_is_half_preference_half_learnt_water_and_its_neighbours(
    rng,
):
    ranker, pegs = fitted(rng)
    new = pegs.assign(peg="never fished")
    told = ranker.explain(new[ranker.columns()])
    prior = new["log_prior"] - ranker.design_.terms[0].centre
    half = 0.5 * ranker.slope * prior + 0.5 * (told["log_prior"] + told["depth_m"])
    half += told["chainage_m"]
    np.testing.assert_allclose(kept(ranker).log_rate(new), half, atol=1e-12)


def test_a_peg_of_unknown_preference_has_no_rate(rng):
    ranker, pegs = fitted(rng)
    rates = kept(ranker).log_rate(pegs.assign(log_prior=np.nan))
    assert np.isnan(rates).all()


@pytest.mark.parametrize("damage", ["format", "coef", "terms"])
def test_a_damaged_file_is_refused(rng, damage):
    record = kept(fitted(rng)[0]).as_record()
    record[damage] = record[damage][:-1] if damage != "format" else 99
    with pytest.raises(RankerRefused, match="train again"):
        unkeep(record)


def test_the_water_that_returns_cover_comes_back_from_json(rng):
    ranker, _ = fitted(rng)
    trained = kept(ranker, water={"depth_m": (0.5, 1.75)})
    again = unkeep(json.loads(json.dumps(trained.as_record())))
    assert again.water == {"depth_m": (0.5, 1.75)}


def test_a_file_without_the_water_covered_is_still_read(rng):
    ranker, _ = fitted(rng)
    record = kept(ranker).as_record()
    del record["water"]
    assert unkeep(record).water == {}
