"""Pegs nobody fished: between the preferences and what was learnt."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from pegscore.new_pegs import new_peg_score, new_peg_sd
from pegscore.ranker import PegRanker


@pytest.fixture
def ranker_and_pegs(rng):
    n, pegs = 400, 25
    peg = rng.integers(pegs, size=n)
    depth = rng.uniform(0.5, 2, pegs)
    table = pd.DataFrame(
        {
            "peg": [f"p{at}" for at in peg],
            "log_prior": rng.normal(-1, 0.5, pegs)[peg],
            "depth_m": depth[peg],
            "chainage_m": 40.0 * peg,
        }
    )
    ranker = PegRanker(
        prior="log_prior", features=("depth_m",), peg="peg", chainage="chainage_m"
    )
    fish = rng.poisson(np.exp(1.5 * (depth[peg] - 1.2)))
    ranker.fit(table[ranker.columns()], fish)
    return ranker, table.drop_duplicates("peg").reset_index(drop=True)


def test_share_none_is_the_preferences_order(ranker_and_pegs):
    ranker, pegs = ranker_and_pegs
    score = new_peg_score(ranker, pegs, share=0.0)
    gaps = score - ranker.slope * pegs["log_prior"]
    np.testing.assert_allclose(gaps, gaps[0], atol=1e-12)


def test_share_one_is_all_but_the_level_and_the_pegs_own_record(ranker_and_pegs):
    ranker, pegs = ranker_and_pegs
    told = ranker.explain(pegs[ranker.columns()])
    all_else = told.drop(columns=["level", "peg"]).sum(axis="columns")
    np.testing.assert_allclose(
        new_peg_score(ranker, pegs, share=1.0), all_else, atol=1e-12
    )


def test_the_error_grows_with_what_is_left_out_and_holds_the_pegs_own_spread(
    ranker_and_pegs,
):
    ranker, pegs = ranker_and_pegs
    full, none = (new_peg_sd(ranker, pegs, share=share) for share in (1.0, 0.0))
    assert (none >= full).all()
    assert none.max() > full.max()
    peg_sd = ranker.sds_[ranker.design_.first_block("peg")]
    assert (full > peg_sd).all()
