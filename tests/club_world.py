"""Invented clubs: a river, its fish, its anglers and what they hand in.

Written apart from the ranker, whose model is deliberately not this one: true responses
combine as a sum of logarithms or as the limiting factor, preferences are published
off the truth, the survey errs, pegs drift, anglers differ in skill and sit where they
think fish are, blanks go missing and bags are rounded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class Club:
    """``pegs``: chainage, water as surveyed, log prior, true rate, ``fished``.

    ``visits``: one row a return. ``truth`` is the expected catch per hour of a standard
    angler next season, index as ``pegs``.
    """

    pegs: pd.DataFrame
    visits: pd.DataFrame
    truth: pd.Series
    ceiling: pd.Series


HANDLING = 0.08  # hours from bite to next cast
WATER = ["depth_m", "speed_m_s", "bed", "crease"]


def make_club(seed: int, visits: int, *, pegs: int | None = None) -> Club:
    rng = np.random.default_rng([seed, 77])
    n = pegs or int(rng.integers(60, 200))
    chainage = np.cumsum(rng.uniform(28, 45, n))
    true = _river(rng, chainage)
    seen = _surveyed(rng, true)
    habitat, prior = _fish(rng, true, seen)
    peg_sd, field_sd = rng.uniform(0.2, 0.7), rng.uniform(0.15, 0.5)
    distance = np.abs(chainage[:, None] - chainage)
    field = np.linalg.cholesky(np.exp(-distance / 250) + 1e-9 * np.eye(n))
    field = field_sd * field @ rng.normal(size=n)
    cover = rng.uniform(0, 0.5) * (rng.random(n) < 0.2)
    now = habitat + field + cover + peg_sd * rng.normal(size=n)
    seasons = 5
    drift = [now]
    for _ in range(seasons):  # backwards in time; drift[0] is the season to come
        own = drift[-1] - habitat - field - cover
        older = 0.9 * own + np.sqrt(1 - 0.81) * peg_sd * rng.normal(size=n)
        drift.append(habitat + field + cover + older)
    fished = _fished(rng, n)
    table = _returns(rng, visits, drift, fished, prior, chainage)
    peg_table = seen.assign(
        chainage_m=chainage,
        log_prior=prior,
        fished=False,
        peg=[f"p{i}" for i in range(n)],
    )
    peg_table["fished"] = peg_table["peg"].isin(table["peg"])
    table = table.merge(peg_table.drop(columns="fished"), on="peg", how="left")
    return Club(
        pegs=peg_table,
        visits=table,
        truth=pd.Series(
            np.exp(now) / (1 + HANDLING * np.exp(now)), index=peg_table.index
        ),
        ceiling=pd.Series(habitat, index=peg_table.index),
    )


def _river(rng, chainage) -> pd.DataFrame:
    n = len(chainage)
    wave = rng.uniform(150, 300)
    phase = np.cumsum(rng.normal(0, 0.25, n)) + 2 * np.pi * chainage / wave
    trend = np.linspace(0, rng.normal(0, 0.4), n)
    depth = np.exp(np.log(1.3) + 0.35 * np.sin(phase) + trend + rng.normal(0, 0.15, n))
    rough = np.convolve(rng.normal(0, 0.3, n + 4), np.ones(5) / 2.2, "valid")
    speed = 0.55 * (depth / 1.3) ** -0.7 * np.exp(rough)
    bed = np.clip(2 + 2.2 * np.log(speed / 0.4) + rng.normal(0, 0.7, n), 0, 5)
    crease = rng.beta(1.2, 3, n)
    return pd.DataFrame(
        {"depth_m": depth, "speed_m_s": speed, "bed": bed, "crease": crease}
    )


def _surveyed(rng, true: pd.DataFrame) -> pd.DataFrame:
    n = len(true)
    seen = true.copy()
    seen["depth_m"] = np.maximum(true["depth_m"] + rng.normal(0, 0.12, n), 0.1)
    seen["speed_m_s"] = true["speed_m_s"] * np.exp(rng.normal(0, 0.15, n))
    seen["bed"] = np.clip(true["bed"] + rng.normal(0, 0.4, n), 0, 5)
    return seen


def _fish(rng, true: pd.DataFrame, seen: pd.DataFrame):
    """Return the true log habitat response, and the published log preference."""
    parts, published = [], []
    for name in WATER:
        spread = true[name].std()
        optimum = rng.uniform(*true[name].quantile([0.15, 0.85]))
        wide = spread * rng.uniform(0.7, 1.6)
        skew = np.where(true[name] > optimum, rng.uniform(0.6, 1.6), 1.0)
        parts.append(-0.5 * ((true[name] - optimum) / (wide * skew)) ** 2)
        if name == "crease":
            continue
        off = rng.choice([0.25, 0.6, 1.0])
        centre = optimum + off * wide * rng.normal()
        width = 1.2 * wide * np.exp(rng.normal(0, 0.5 * off))
        gap = np.abs(seen[name] - centre) / width
        published.append(np.clip(1.0 - np.maximum(gap - 0.5, 0) / 1.5, 0, 1))
    stacked = np.array(parts) * rng.uniform(0.4, 1.4, len(parts))[:, None]
    limiting = rng.random() < 0.5
    habitat = 1.4 * stacked.min(axis=0) if limiting else stacked.sum(axis=0)
    habitat = np.maximum(habitat, -4.0)
    index = np.prod(np.array(published), axis=0) ** (1 / 3)
    level = np.log(rng.uniform(0.2, 0.6))
    return habitat - habitat.mean() + level, np.log(index + 0.05)


def _fished(rng, n: int) -> np.ndarray:
    fished = rng.random(n) > 0.12
    start = rng.integers(0, n - n // 8)
    fished[start : start + n // 8] = False
    return fished


def _returns(rng, visits, drift, fished, prior, chainage):  # noqa: PLR0915 - one story
    n = len(prior)
    anglers = int(rng.integers(40, 170))
    skill = rng.normal(0, rng.uniform(0.3, 0.65), anglers)
    busy = 1.0 / np.arange(1, anglers + 1) ** 0.8
    clump = rng.uniform(0.7, 1.8)
    reputation = drift[2] + rng.normal(0, 0.8, n)
    parks = rng.choice(n, max(n // 25, 2))
    walk = np.min(np.abs(chainage[:, None] - chainage[parks]), axis=1)
    appeal = rng.uniform(0.2, 0.8) * reputation - walk / 220
    rows = []
    day_sd = rng.uniform(0.2, 0.5)
    days = rng.normal(0, day_sd, 5 * 260)
    while len(rows) < visits:
        who = rng.choice(anglers, p=busy / busy.sum())
        draw = (1 + 0.5 * skill[who]) * appeal + rng.gumbel(size=n)
        peg = int(np.argmax(np.where(fished, draw, -np.inf)))
        season, day = int(rng.integers(5)), int(rng.integers(260))
        target = "this" if rng.random() < 0.6 else "other"
        temp = 12 + 6 * np.sin(2 * np.pi * day / 260) + rng.normal(0, 2)
        hours = float(np.clip(4.5 * np.exp(rng.normal(0, 0.4)), 0.75, 12))
        rate = drift[season + 1][peg] + skill[who] + days[season * 260 + day]
        rate += (np.log(0.3) if target == "other" else 0) - ((temp - 14) / 8) ** 2 / 2
        mean = hours * np.exp(rate) / (1 + HANDLING * np.exp(rate))
        if rng.random() < 0.08:
            mean = mean * 0.02
        fish = int(rng.negative_binomial(clump, clump / (clump + mean)))
        if fish == 0 and rng.random() < 0.2:
            continue
        if rng.random() < 0.05:
            fish = round(1.5 * fish)
        if fish >= 10 and rng.random() < 0.6:
            fish = 5 * round(fish / 5)
        written = peg if rng.random() > 0.03 else min(peg + 1, n - 1)
        rows.append(
            (
                f"p{written}",
                f"a{who}",
                round(2 * hours) / 2 or 0.5,
                fish,
                target,
                temp,
                str(1 + day // 30),
                2025 - season,
            )
        )
    names = ["peg", "angler", "hours", "fish", "aim", "water_c", "month", "season"]
    return pd.DataFrame(rows, columns=names)
