"""The ranker on published fish of a real river, whole stretches of it left out.

Verneaux 1973, see ``data/doubs``. Sites lie kilometres apart and fish are classes, not
counts: this asks only whether a ranker may order sites it has never seen.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pegscore.folds import equal_blocks
from pegscore.metrics import tau_b
from pegscore.ranker import PegRanker

SITES = Path(__file__).parent / "data" / "doubs" / "sites.csv"
SPECIES = ["Baba", "Lece", "Ruru", "Abbr", "Lele", "Pefl", "Gogo", "Thth", "Satr"]
FEATURES = ["slope", "flow", "oxygen", "bod"]


def sites() -> pd.DataFrame:
    table = pd.read_csv(SITES)
    table = table[table[SPECIES].sum(axis=1) + table["Phph"] > 0]  # site 8 has no fish
    return table.assign(
        slope=table["slo"],
        flow=np.log(table["flo"]),
        oxygen=table["oxy"] / 10,
        bod=np.log(table["bdo"]),
    ).reset_index(drop=True)


def left_out_scores(table: pd.DataFrame, fish: str, labels: np.ndarray) -> np.ndarray:
    scores = np.zeros(len(table))
    for label in np.unique(labels):
        out = labels == label
        ranker = PegRanker(features=tuple(FEATURES), feature_sd=0.3)
        ranker.fit(table.loc[~out, FEATURES], table.loc[~out, fish])
        scores[out] = ranker.log_rate(table.loc[out, FEATURES])
    return scores


def mean_tau(labels: np.ndarray) -> tuple[float, float]:
    """Return the mean over species and its standard error over species."""
    table = sites()
    taus = [
        tau_b(left_out_scores(table, fish, labels), table[fish]) for fish in SPECIES
    ]
    return float(np.mean(taus)), float(np.std(taus) / np.sqrt(len(taus)))


@pytest.mark.slow
def test_sites_of_unseen_stretches_are_ordered_better_than_by_chance():
    labels = equal_blocks(np.arange(29.0), np.ones(29), blocks=6)
    mean, error = mean_tau(labels)
    assert mean > 2 * error  # it does not beat the rule "always downstream" (0.45)


@pytest.mark.slow
def test_leaving_out_single_sites_flatters():
    blocked, _ = mean_tau(equal_blocks(np.arange(29.0), np.ones(29), blocks=6))
    alone, _ = mean_tau(np.arange(29))
    assert alone > blocked
