"""The ranker's figures on invented clubs: ``clubs.py 1000 600 640``.

First the visits, then the first and the last club, so that parts can run side by side.
Prints means and standard errors over clubs; each figure is the mean of six levels.
``coverage`` is how often the 80 % interval, inflated as ``train`` would, held the truth
(rates relative to the list's mean). ``gated`` is what ``rank`` would show: on pegs
never fished the share of the ranker that proved itself, preferences if none did.
"""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

import numpy as np
import pandas as pd

from layers.bederror import Z_80
from pegscore.baselines import BASELINES
from pegscore.evaluation import SCHEMES, compare, fit_ranker
from pegscore.metrics import ndcg, regret, tau_b
from pegscore.new_pegs import new_peg_score, new_peg_sd
from pegscore.training import inflations

sys.path.append(str(Path(__file__).parents[1]))
from club_world import WATER, Club, Scene, club_ranker, make_club
from peers import lambdamart

PEERS = [name for name in BASELINES if name != "preferences"]

Found = dict[tuple[str, str, str], float]


def measures(where: str, rule: str, score, truth) -> Found:
    return {
        (where, rule, "regret5"): regret(score, truth),
        (where, rule, "ndcg10"): ndcg(score, truth, top=10),
        (where, rule, "tau_b"): tau_b(score, truth),
    }


def held(score, sd, truth) -> float:
    gap = score - np.log(truth)
    return float(np.mean(np.abs(gap - gap.mean()) <= Z_80 * sd))


def peer_scores(club: Club, ranker) -> list[dict[str, np.ndarray]]:
    """Return each scene's scores by every other rule, all scenes asked at once."""
    tables = [ranker.standard(scene.pegs) for scene in club.scenes]
    pegs = pd.concat(tables, ignore_index=True)
    rules = {name: BASELINES[name] for name in PEERS} | {"LambdaMART": lambdamart}
    cuts = np.cumsum([len(table) for table in tables])[:-1]
    split = {
        name: np.split(rule(club.visits, pegs, WATER), cuts)
        for name, rule in rules.items()
    }
    return [
        {name: parts[at] for name, parts in split.items()} for at in range(len(tables))
    ]


def scene_figures(scene: Scene, ranker, tests, peers) -> Found:
    pegs = ranker.standard(scene.pegs)
    columns = pegs[ranker.columns()]
    full = ranker.log_rate(columns)
    new_share = tests[0].share
    scores = {
        "preferences": pegs["log_prior"].to_numpy(),
        **peers,
        "trained": full,
        "half trained": new_peg_score(ranker, pegs),
        "gated": np.where(
            scene.pegs["fished"],
            full if tests[1].accepted else pegs["log_prior"],
            new_peg_score(ranker, pegs, share=new_share),
        ),
    }
    new, own = inflations(*tests)
    sds = {"fished": own * ranker.log_rate_sd(columns), "new": new_peg_sd(ranker, pegs)}
    sds["new"] = sds["new"] * new
    found: Found = {}
    for where, chosen in scene.groups().items():
        truth = scene.truth[chosen].to_numpy()
        for rule, score in scores.items():
            found |= measures(where, rule, score[chosen], truth)
        best = full if where == "fished" else scores["half trained"]
        cover = held(best[chosen], sds[where][chosen], truth)
        found[where, "interval", "coverage"] = cover
    return found


def figures(seed: int, visits: int) -> Found:
    club = make_club(seed, visits)
    start = perf_counter()
    ranker = fit_ranker(club_ranker(), club.visits)
    took = perf_counter() - start
    tests = [
        compare(club_ranker(), club.visits, scheme=scheme, baselines=["preferences"])
        for scheme in SCHEMES
    ]
    scenes = [
        scene_figures(scene, ranker, tests, peers)
        for scene, peers in zip(club.scenes, peer_scores(club, ranker), strict=True)
    ]
    found: Found = pd.DataFrame(scenes).mean().to_dict()
    for test in tests:
        found["gate", test.scheme, "accepted"] = float(test.accepted)
        found["gate", test.scheme, "share"] = test.share
        found["gate", test.scheme, "inflation"] = test.inflation
        found["gate", test.scheme, "visits in 80 %"] = test.coverage
    found["fit", "seconds", ""] = took
    return found


def main(visits: int, first: int, last: int) -> None:
    rows = [figures(seed, visits) for seed in range(first, last)]
    table = pd.DataFrame({key: [row[key] for row in rows] for key in rows[0]})
    for where in ("fished", "new"):
        worse = (
            table[where, "gated", "regret5"] - table[where, "preferences", "regret5"]
        )
        table[where, "gated", "gain"] = -worse
        table[where, "gated", "worse by 0.05"] = (worse > 0.05).astype(float)
    if len(sys.argv) > 4:
        table.to_pickle(sys.argv[4])
    show(table)


def show(table: pd.DataFrame) -> None:
    error = table.std() / np.sqrt(len(table))
    print(pd.DataFrame({"mean": table.mean(), "error": error}).round(3).to_string())


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:4]))
