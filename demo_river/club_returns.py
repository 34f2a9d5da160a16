"""Three seasons of invented catch returns, driven by the truth and hidden luck.

``FISH`` is this script's own invention to make catches differ between pegs. It
is no statement about any species; where the toolkit needs such values, it has
its own with their sources.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from river_truth import Truth

    Array = NDArray[np.float64]

VISITS = 900
ANGLERS = [f"A{number:02d}" for number in range(1, 31)]
LOW, HIGH = 0.6, 0.95


@dataclass(frozen=True)
class Fish:
    """What moves one kind of fish in this invented river.

    ``hard`` is its liking for gravel and larger, ``rate`` its catch an hour at
    its best peg, ``warm_c`` the water it feeds best in.
    """

    depth_m: float
    depth_sd: float
    speed_m_s: float
    speed_sd: float
    hard: float
    rate: float
    kg: float
    warm_c: float
    method: str
    bait: str


FISH = {
    "barbel": Fish(1.5, 0.6, 0.60, 0.18, 1.2, 0.5, 2.2, 16, "ledger", "pellet"),
    "chub": Fish(1.2, 0.6, 0.42, 0.2, 0.3, 0.9, 0.9, 12, "float", "bread"),
    "roach": Fish(1.5, 0.6, 0.25, 0.14, -0.4, 4.0, 0.09, 13, "pole", "maggot"),
    "dace": Fish(0.8, 0.4, 0.50, 0.16, 0.8, 4.0, 0.06, 12, "float", "maggot"),
    "bream": Fish(2.1, 0.6, 0.15, 0.15, -1.0, 1.2, 1.1, 17, "feeder", "worm"),
    "perch": Fish(1.6, 0.7, 0.2, 0.16, 0.0, 1.0, 0.2, 13, "float", "worm"),
    "gudgeon": Fish(0.7, 0.4, 0.4, 0.16, 0.6, 5.0, 0.02, 14, "pole", "maggot"),
    "pike": Fish(1.9, 0.8, 0.12, 0.18, -0.3, 0.5, 3.0, 9, "lure", "lure"),
}
TARGETS = ["barbel", "chub", "roach", "bream", "perch", "dace", "pike"]
WANTED = [0.27, 0.24, 0.19, 0.10, 0.08, 0.07, 0.05]


def peg_quality(truth: Truth, pegs: pd.DataFrame, level_m: float) -> pd.DataFrame:
    """Return how good each peg's water is for each fish, 0 to about 1.8.

    A peg is as good as the best third of its water: 16 m along the bank, from 3
    to 13 m out.
    """
    s0, _ = truth.to_channel(pegs["x"], pegs["y"])
    side = np.where(pegs["bank"] == "left", 1, -1)[:, None, None]
    s = s0[:, None, None] + np.arange(-8, 9, 4)[None, :, None]
    s = np.clip(s, 0, truth.length_m)
    out = np.array([3.0, 5, 7, 9, 11, 13])[None, None, :]
    s, n = np.broadcast_arrays(s, side * (truth.half_width_m(s) - out))
    depth, speed = truth.depth_m(s, n, level_m), truth.speed_m_s(s, n, level_m)
    shares = truth.substrate_shares(s, n)
    hard: Array = shares["gravel"] + shares["cobble"] + shares["boulder"]
    scores = {}
    for name, fish in FISH.items():
        fit = ((depth - fish.depth_m) / fish.depth_sd) ** 2
        fit = fit + ((speed - fish.speed_m_s) / fish.speed_sd) ** 2
        liking = np.exp(-0.5 * fit + fish.hard * (hard - 0.5))
        liking = np.where(depth > 0.2, liking, 0).reshape(len(pegs), -1)
        scores[name] = np.sort(liking, axis=1)[:, -10:].mean(axis=1)
    return pd.DataFrame(scores, index=pegs["peg"])


def _season_days() -> pd.DatetimeIndex:
    """Return the open days of three seasons: the closed one is out."""
    years = (2022, 2023, 2024)
    days = [pd.date_range(f"{y}-06-16", f"{y + 1}-03-14") for y in years]
    return pd.DatetimeIndex(np.concatenate(days))


def river_days(rng: np.random.Generator) -> pd.DataFrame:
    """Return each open day's level, water temperature, clarity and pull on anglers."""
    days = _season_days()
    year = 2 * np.pi * (days.day_of_year.to_numpy() - 15) / 365.25
    spate = np.zeros(len(days))
    for i in range(1, len(days)):
        burst = rng.exponential(0.35) * (rng.uniform() < 0.05 + 0.03 * np.cos(year[i]))
        spate[i] = 0.86 * spate[i - 1] + burst
    level = (0.5 + 0.07 * np.cos(year) + spate + rng.normal(0, 0.01, len(days))).round(
        2
    )
    warm = (11.5 - 7 * np.cos(year) + rng.normal(0, 1.1, len(days))).round(1)
    clarity = np.select([level > 1.05, level > 0.75], ["coloured", "tinged"], "clear")
    pull = np.where(days.day_of_week >= 5, 3.2, 1.0) * (1.35 - 0.6 * np.cos(year))
    pull *= np.where(level > 1.3, 0.15, 1.0)
    table = {"date": days, "level_m": level, "water_c": warm, "clarity": clarity}
    return pd.DataFrame(table | {"pull": pull / pull.sum()})


@dataclass
class Club:
    """The members' habits and the luck of each peg, none of it in the survey."""

    quality: dict[float, pd.DataFrame]
    luck: pd.DataFrame
    fame: Array
    skill: dict[str, float]
    favourites: dict[str, NDArray[np.int64]]
    activity: Array

    def worth(self, fish: str, peg: int, raised: float) -> float:
        """Return a peg's quality times its luck; ``raised`` is 0 at LOW, 1 at HIGH."""
        low, high = (float(self.quality[at][fish].loc[peg]) for at in (LOW, HIGH))
        return (low + raised * (high - low)) * float(self.luck[fish].loc[peg])


def found_club(truth: Truth, rng: np.random.Generator, pegs: pd.DataFrame) -> Club:
    """Return the club: fame is a fair guess of a peg's worth, and near is liked."""
    quality = {level: peg_quality(truth, pegs, level) for level in (LOW, HIGH)}
    worth = quality[LOW].drop(columns="gudgeon").rank(pct=True).mean(axis=1).to_numpy()
    fame = np.exp(2.2 * worth + rng.normal(0, 0.4, len(pegs)) - pegs["walk_m"] / 800)
    fame = np.where(pegs["open"] == "yes", fame, 0.0)
    fame /= fame.sum()
    luck = np.exp(rng.normal(-0.06, 0.35, quality[LOW].shape))
    choices = [rng.choice(len(pegs), 4, replace=False, p=fame) for _ in ANGLERS]
    return Club(
        quality=quality,
        luck=pd.DataFrame(luck, index=quality[LOW].index, columns=list(FISH)),
        fame=fame,
        skill={key: float(np.exp(rng.normal(0, 0.35))) for key in ANGLERS},
        favourites=dict(zip(ANGLERS, choices, strict=True)),
        activity=1 / np.arange(1, len(ANGLERS) + 1) ** 0.8,
    )


def all_returns(
    truth: Truth, rng: np.random.Generator, pegs: pd.DataFrame
) -> pd.DataFrame:
    """Return one row a visit and species; a blank visit is one row of count 0."""
    club = found_club(truth, rng, pegs)
    days = river_days(rng)
    chosen = np.sort(rng.choice(len(days), VISITS, p=days["pull"]))
    rows: list[dict[str, object]] = []
    for visit, day in enumerate(chosen, start=1):
        rows += _visit(rng, club, pegs, days.iloc[day], f"V{visit:04d}")
    return pd.DataFrame(rows)


def _visit(
    rng: np.random.Generator, club: Club, pegs: pd.DataFrame, day: pd.Series, key: str
) -> list[dict[str, object]]:
    angler = str(rng.choice(ANGLERS, p=club.activity / club.activity.sum()))
    pull = club.fame.copy()
    pull[club.favourites[angler]] *= 4
    peg = int(pegs["peg"].iloc[rng.choice(len(pegs), p=pull / pull.sum())])
    target = str(rng.choice(TARGETS, p=WANTED))
    fish = FISH[target]
    common = {
        "visit": key,
        "date": f"{day['date']:%Y-%m-%d}",
        "angler": angler,
        "peg": peg,
        "hours": round(2 * float(np.clip(rng.normal(4.5, 1.5), 1, 10))) / 2,
        "method": fish.method,
        "bait": fish.bait,
        "target": target,
    }
    water = {name: day[name] for name in ("level_m", "water_c", "clarity")}
    caught = _catch(rng, club, day, common)
    blank = {"species": "", "count": 0, "weight_kg": ""}
    return [common | row | water for row in caught or [blank]]


def _catch(
    rng: np.random.Generator, club: Club, day: pd.Series, visit: dict[str, Any]
) -> list[dict[str, object]]:
    """Return what was caught: the target, and now and then something else."""
    share = float(np.clip((day["level_m"] - LOW) / (HIGH - LOW), 0, 1))
    rows: list[dict[str, object]] = []
    mood = rng.gamma(2.0, 0.5)
    for name, fish in FISH.items():
        rate = fish.rate * club.worth(name, visit["peg"], share)
        rate *= np.exp(-0.5 * ((day["water_c"] - fish.warm_c) / 6) ** 2)
        rate *= 1.0 if name == visit["target"] else 0.1
        rate *= club.skill[visit["angler"]] * mood * rng.gamma(1.6, 1 / 1.6)
        count = int(rng.poisson(min(rate, 12) * visit["hours"]))
        if count:
            kg = (fish.kg * np.exp(rng.normal(0, 0.35, count))).sum()
            rows.append({"species": name, "count": count, "weight_kg": f"{kg:.2f}"})
    return rows
