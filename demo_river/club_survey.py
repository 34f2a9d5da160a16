"""What the club measured: soundings, grabs, floats, gaugings, and its pegs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from river_truth import Truth

    Array = NDArray[np.float64]

MEAN_WIDTH_M = 31.0

Tracks = tuple["Array", "Array", "Array"]
"""Line number, chainage and share of the half width of each sounding."""


def _cross_lines(
    truth: Truth, rng: np.random.Generator, spacing_m: float, step_m: float
) -> Tracks:
    """Return lines from bank to bank, never quite square to the flow."""
    tracks = []
    for number, start in enumerate(np.arange(spacing_m / 4, truth.length_m, spacing_m)):
        count = int(2 * truth.half_width_m(start) / step_m)
        share = (np.arange(count) + rng.uniform(0.3, 0.7)) / count * 2 - 1
        along = start + rng.normal(0, 0.8) + 1.5 * share * rng.normal()
        tracks.append(np.array([np.full(count, number), along, share]))
    line, s, share = np.hstack(tracks)
    return line, np.clip(s, 0.5, truth.length_m - 0.5), share


def _zigzag(
    truth: Truth, _rng: np.random.Generator, spacing_m: float, step_m: float
) -> Tracks:
    """Return one track that crosses from bank to bank every ``spacing_m``."""
    step = step_m / np.hypot(1, MEAN_WIDTH_M / spacing_m)
    s = np.arange(2.0, truth.length_m - 2, step)
    legs = s / spacing_m
    return np.floor(legs), s, 1 - 2 * np.abs((legs % 2) - 1)


def _random(
    truth: Truth, rng: np.random.Generator, spacing_m: float, step_m: float
) -> Tracks:
    """Return as many places as cross-lines would have, anywhere."""
    count = int(truth.length_m / spacing_m * MEAN_WIDTH_M / step_m)
    s = rng.uniform(1, truth.length_m - 1, count)
    return np.zeros(count), s, rng.uniform(-1, 1, count)


PATTERNS = {"cross_lines": _cross_lines, "zigzag": _zigzag, "random": _random}


def take_soundings(  # noqa: PLR0913 - a survey has that many knobs
    truth: Truth,
    rng: np.random.Generator,
    pattern: str = "cross_lines",
    *,
    spacing_m: float = 22.0,
    step_m: float = 3.0,
    noise_m: float = 0.05,
    position_m: float = 0.5,
    spike_share: float = 0.005,
    level_m: float | None = None,
) -> pd.DataFrame:
    """Return soundings ``x, y, depth_m, level_m, line``, with honest errors.

    ``noise_m`` is the depth's standard error, ``position_m`` that of each
    recorded coordinate, ``spike_share`` the share of false echoes, which are at
    least 0.8 m out. Patterns: ``cross_lines``, ``zigzag``, ``random``.
    """
    level = truth.level_m if level_m is None else level_m
    line, s, share = PATTERNS[pattern](truth, rng, spacing_m, step_m)
    n = share * (truth.half_width_m(s) - 0.6)
    depth = truth.depth_m(s, n, level)
    kept = shapely.contains_xy(truth.water, *truth.to_world(s, n)) & (depth > 0.1)
    line, s, n, depth = line[kept], s[kept], n[kept], depth[kept]
    measured = depth + rng.normal(0, noise_m, len(depth))
    spike = rng.uniform(size=len(depth)) < spike_share
    false_echo = np.where(depth > 1.5, depth - 1.2, depth + rng.uniform(0.9, 1.8))
    measured = np.maximum(np.where(spike, false_echo, measured), 0.05)
    x, y = truth.to_world(s, n)
    x, y = x + rng.normal(0, position_m, len(x)), y + rng.normal(0, position_m, len(y))
    columns = {"x": x.round(2), "y": y.round(2), "depth_m": measured.round(2)}
    return pd.DataFrame(columns | {"level_m": level, "line": line.astype(int)})


def all_soundings(truth: Truth, rng: np.random.Generator) -> pd.DataFrame:
    """Return two days on the water: cross-lines, then a zig-zag in higher water."""
    lines = take_soundings(truth, rng, spacing_m=22, step_m=3)
    zigzag = take_soundings(
        truth, rng, "zigzag", spacing_m=60, step_m=4.2, level_m=0.74
    )
    days = [lines.assign(when="2024-07-06"), zigzag.assign(when="2024-09-21")]
    return pd.concat(days, ignore_index=True).drop(columns="line")


def _anywhere(
    truth: Truth, rng: np.random.Generator, count: int, margin_m: float
) -> tuple[Array, Array]:
    """Return chainage and offset of places in the water, spread along the reach."""
    step = truth.length_m / count
    s = np.repeat((np.arange(count) + 0.5) * step, 40)
    s = s + rng.uniform(-0.45, 0.45, s.size) * step
    n = rng.uniform(-1, 1, s.size) * (truth.half_width_m(s) - margin_m)
    wet = shapely.contains_xy(truth.water, *truth.to_world(s, n))
    first = [40 * i + int(np.argmax(wet[40 * i : 40 * i + 40])) for i in range(count)]
    return s[first], n[first]


def bottom_grabs(
    truth: Truth, rng: np.random.Generator, count: int = 150
) -> pd.DataFrame:
    """Return what a weighted line felt: one word a place.

    The hand errs where two classes are nearly equal; a fifth of the grabs were
    sieved for their median size.
    """
    s, n = _anywhere(truth, rng, count, margin_m=1.0)
    shares = pd.DataFrame(truth.substrate_shares(s, n))
    hand = shares.to_numpy() + rng.normal(0, 0.08, shares.shape)
    word = shares.columns.to_numpy()[hand.argmax(axis=1)]
    middle = {"silt": 0.02, "sand": 0.5, "gravel": 18, "cobble": 110, "boulder": 320}
    size = np.array([middle[w] for w in word]) * np.exp(rng.normal(0, 0.35, count))
    sieved = rng.uniform(size=count) < 0.2
    weed = np.clip(truth.weed_share(s, n) * 100 + rng.normal(0, 6, count), 0, 100)
    x, y = (_placed(part, rng, 0.8) for part in truth.to_world(s, n))
    return pd.DataFrame(
        {
            "x": x,
            "y": y,
            "substrate": word,
            "weed_pct": (weed / 5).round() * 5,
            "d50_mm": np.where(sieved, [f"{mm:.3g}" for mm in size], ""),
            "when": "2024-07-13",
        }
    ).astype({"weed_pct": int})


def _placed(values: Array, rng: np.random.Generator, sd_m: float) -> Array:
    return (values + rng.normal(0, sd_m, len(values))).round(2)


def float_runs(truth: Truth, rng: np.random.Generator, count: int = 36) -> pd.DataFrame:
    """Return floats timed over 12 to 18 m: the surface runs faster than the mean.

    The mean is 0.85 of the surface's speed give or take 0.02; the watch and the
    eye are half a second out, wind drifts a float half a metre sideways.
    """
    s, n = _anywhere(truth, rng, count, margin_m=3.0)
    s = np.clip(s, 2, truth.length_m - 22)
    length = rng.uniform(12, 18, count)
    along = np.linspace(0, 1, 41)
    share = n / truth.half_width_m(s)
    path = s[:, None] + along * length[:, None]
    speed = truth.speed_m_s(path, share[:, None] * truth.half_width_m(path))
    factor = rng.normal(0.85, 0.02, count)
    seconds = length * (1 / np.maximum(speed, 0.03)).mean(axis=1) * factor
    seconds = (seconds + rng.normal(0, 0.5, count)).round(1)
    end = share * truth.half_width_m(s + length) + rng.normal(0, 0.5, count)
    x, y = truth.to_world(s, n)
    x2, y2 = truth.to_world(s + length, end)
    columns = {"x": x.round(1), "y": y.round(1), "x2": x2.round(1), "y2": y2.round(1)}
    ends_wet = shapely.contains_xy(truth.water, x2, y2)
    runs = pd.DataFrame(columns | {"seconds": seconds, "level_m": truth.level_m})
    return runs[ends_wet].assign(when="2024-07-20")


def meter_points(
    truth: Truth, rng: np.random.Generator, count: int = 14, level_m: float = 0.95
) -> pd.DataFrame:
    """Return a current meter's readings at 0.4 of the depth above the bed.

    The profile is a 1/6 power law, by which the speed at that height is
    7/6 * 0.4 ** (1/6) = 1.0014 of the mean; the meter is 4 per cent out.
    """
    s, n = _anywhere(truth, rng, count, margin_m=3.0)
    speed = truth.speed_m_s(s, n, level_m) * 7 / 6 * 0.4 ** (1 / 6)
    x, y = truth.to_world(s, n)
    measured = (speed * rng.normal(1, 0.04, count)).round(2)
    columns = {"x": x.round(1), "y": y.round(1), "speed_ms": measured, "kind": "point"}
    more = {"height_frac": 0.4, "level_m": level_m, "when": "2024-10-19"}
    return pd.DataFrame(columns | more)


def all_speeds(truth: Truth, rng: np.random.Generator) -> pd.DataFrame:
    """Return floats at the normal level and the meter in raised water, one table."""
    return pd.concat([float_runs(truth, rng), meter_points(truth, rng)])


def gaugings(truth: Truth, rng: np.random.Generator) -> pd.DataFrame:
    """Return five gaugings, each 4 per cent out."""
    level = np.array([0.38, 0.52, 0.61, 0.79, 1.02])
    flow = np.array([truth.discharge_m3_s(x) for x in level])
    days = ["2023-08-26", "2024-06-22", "2024-07-20", "2024-10-12", "2024-11-23"]
    measured = (flow * rng.normal(1, 0.04, len(level))).round(1)
    return pd.DataFrame({"level_m": level, "flow_m3s": measured, "when": days})
