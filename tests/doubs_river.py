"""The fish of a real river, ordered by rules that never saw the stretch they order.

Verneaux 1973, see ``reference/data/doubs``: 29 sites with fish along one river, classes
of abundance 0 to 5. Sites lie kilometres apart and fish are classes, not counts: this
asks only whether a ranker may order sites of a stretch it has never seen.

The published part of the preferences is the zones of Huet (1959, from memory) by slope
and width, 4.5, 1.25 and 0.33 per mille at 25 m between trout, grayling, barbel and
bream water, and the guide and limit values of oxygen and its demand of the European
fish-water directive of 1978 (from memory). Which zones a species fills wholly, partly
and not at all is our own proposal.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.linear_model import PoissonRegressor
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import PolynomialFeatures, StandardScaler
from threadpoolctl import threadpool_limits

from pegscore.folds import equal_blocks
from pegscore.metrics import ndcg, regret, tau_b
from pegscore.new_pegs import new_peg_score
from pegscore.ranker import PegRanker

SITES = Path(__file__).parent / "reference" / "data" / "doubs" / "sites.csv"
BLOCKS = 6
FEATURES = ["slope", "flow", "oxygen", "bod"]
ZONES = {  # zone coordinate: none, all from, all to, none
    "Satr": (0.10, 0.65, 9.0, 9.0),
    "Thth": (-0.48, 0.10, 0.65, 1.20),
    "Baba": (-1.00, -0.48, 0.10, 0.65),
    "Lece": (-1.50, -0.48, 0.10, 0.65),
    "Lele": (-1.50, -0.48, 0.10, 0.65),
    "Gogo": (-1.50, -0.48, 0.10, 0.65),
    "Ruru": (-9.0, -9.0, -0.48, 0.65),
    "Pefl": (-9.0, -9.0, -0.48, 0.65),
    "Abbr": (-9.0, -9.0, -0.48, 0.10),
}
SPECIES = list(ZONES)
UPSTREAM = ("Satr", "Thth")
LIFT = 0.05

Rule = Callable[[pd.DataFrame, pd.DataFrame, str], np.ndarray]


def sites() -> pd.DataFrame:
    table = pd.read_csv(SITES)
    table = table[table[SPECIES].sum(axis=1) + table["Phph"] > 0]  # site 8 has no fish
    per_mille = np.expm1(table["slo"]) / 10
    width_m = 8 * np.sqrt(table["flo"] / 100)
    return table.assign(
        slope=np.log(per_mille),
        flow=np.log(table["flo"]),
        oxygen=table["oxy"] / 10,
        bod=np.log(table["bdo"]),
        zone=np.log10(per_mille) + 0.31 * np.log10(width_m / 25),
        along=np.arange(len(table), dtype=float),
    ).reset_index(drop=True)


def log_prior(table: pd.DataFrame, fish: str) -> np.ndarray:
    none, first, last, over = ZONES[fish]
    zone = np.interp(table["zone"], [none, first, last, over], [0.0, 1.0, 1.0, 0.0])
    if none == first:
        zone = np.where(table["zone"] <= last, 1.0, zone)
    if last == over:
        zone = np.where(table["zone"] >= first, 1.0, zone)
    oxygen = np.interp(table["oxy"] / 10, [3.0, 7.0, 9.0], [0.0, 0.5, 1.0])
    demand = np.interp(table["bdo"] / 10, [3.0, 6.0, 12.0], [1.0, 0.5, 0.0])
    return np.log(np.cbrt(zone * oxygen * demand) + LIFT)


def by_preference(_: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    return log_prior(held, fish)


def downstream(_: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    along = held["along"].to_numpy()
    return -along if fish in UPSTREAM else along


def two_nearest(train: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    gap = np.abs(held["along"].to_numpy()[:, None] - train["along"].to_numpy())
    near = np.argsort(gap, axis=1, kind="stable")[:, :2]
    return train[fish].to_numpy(float)[near].mean(axis=1)


def regression(train: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    model = make_pipeline(
        StandardScaler(),
        PolynomialFeatures(2, include_bias=False),
        PoissonRegressor(alpha=0.1, max_iter=500),
    )
    return model.fit(train[FEATURES], train[fish]).predict(held[FEATURES])


def boosting(train: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    model = HistGradientBoostingRegressor(
        loss="poisson",
        max_leaf_nodes=4,
        min_samples_leaf=3,
        learning_rate=0.05,
        random_state=0,
    )
    return model.fit(train[FEATURES], train[fish]).predict(held[FEATURES])


def fitted(train: pd.DataFrame, fish: str) -> PegRanker:
    ranker = PegRanker(prior="prior", features=tuple(FEATURES), feature_sd=0.3)
    table = train.assign(prior=log_prior(train, fish))
    return ranker.fit(table[ranker.columns()], table[fish])


def ranked(train: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    ranker = fitted(train, fish)
    table = held.assign(prior=log_prior(held, fish))
    return ranker.log_rate(table[ranker.columns()])


def half_ranked(train: pd.DataFrame, held: pd.DataFrame, fish: str) -> np.ndarray:
    ranker = fitted(train, fish)
    return new_peg_score(ranker, held.assign(prior=log_prior(held, fish)))


RULES: dict[str, Rule] = {
    "preferences": by_preference,
    "always downstream": downstream,
    "two nearest sites": two_nearest,
    "Poisson regression": regression,
    "boosted trees": boosting,
    "ranker": ranked,
    "half ranker": half_ranked,
}
MEASURES = {
    "tau_b": tau_b,
    "ndcg5": lambda score, gain: ndcg(score, gain, top=5),
    "ndcg10": lambda score, gain: ndcg(score, gain, top=10),
    "regret5": regret,
}


def blocks(table: pd.DataFrame) -> np.ndarray:
    return equal_blocks(np.arange(float(len(table))), np.ones(len(table)), blocks=6)


def left_out_scores(rule: Rule, labels: np.ndarray) -> pd.DataFrame:
    """Return a score a site and species, each from a fit that left its block out."""
    table = sites()
    scores = pd.DataFrame(0.0, index=table.index, columns=SPECIES)
    with threadpool_limits(limits=1):  # many small fits: threads only wait
        for fish in SPECIES:
            for label in np.unique(labels):
                out = labels == label
                scores.loc[out, fish] = rule(table[~out], table[out], fish)
    return scores


def measured(scores: pd.DataFrame, measure: str, keep: np.ndarray) -> float:
    """Return the mean over species of a measure on the sites kept."""
    table = sites()
    found = [
        MEASURES[measure](scores.loc[keep, fish], table.loc[keep, fish])
        for fish in SPECIES
    ]
    return float(np.nanmean(found))


def jackknifed(value: Callable[[np.ndarray], float]) -> tuple[float, float]:
    """Return a value of the sites kept, and its error by leaving blocks out."""
    labels = blocks(sites())
    whole = value(np.ones(len(labels), dtype=bool))
    left = np.array([value(labels != label) for label in range(BLOCKS)])
    spread = (BLOCKS - 1) / BLOCKS * np.sum((left - left.mean()) ** 2)
    return whole, float(np.sqrt(spread))
