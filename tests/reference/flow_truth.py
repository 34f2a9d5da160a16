"""Read the stored flow truths, and survey them as a club would.

``load_truth(name, level)`` and ``survey_from_truth(truth, seed)`` are all a test
needs. How the fields were made: data/flow_truth/README.md. Nothing of layers or
pegscore is imported here, so that the judge does not know the judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd

FOLDER = Path(__file__).parent / "data" / "flow_truth"
NAMES = ("uniform", "patchy")
LEVELS = ("low", "normal", "high")
DRY_M = 0.05
GAUGE_CHAINAGE_M = 1300.0
GAUGE_ZERO_BELOW_NORMAL_M = 0.60
"""The board's zero is set so that the normal level reads 0.60 m."""

SURFACE_TO_MEAN = 0.85
GRAIN_MM = {"sand": 1.0, "gravel": 16.0, "cobble": 120.0}


@dataclass(frozen=True)
class Truth:
    """One steady state on one reach; arrays (row downstream, column to the left).

    ``chainage_m`` grows downstream from 0 at the reach's head, ``offset_m`` is
    positive to the left. ``depth_m`` and ``speed_m_s`` are NaN under 0.05 m of water.
    ``level_m`` is the reading of the board at ``gauge_easting``, ``gauge_northing``.
    """

    name: str
    level: str
    chainage_m: np.ndarray
    offset_m: np.ndarray
    easting: np.ndarray
    northing: np.ndarray
    area_m2: np.ndarray
    bed_m: np.ndarray
    manning: np.ndarray
    surface_m: np.ndarray
    depth_m: np.ndarray
    speed_m_s: np.ndarray
    velocity_east_m_s: np.ndarray
    velocity_north_m_s: np.ndarray
    discharge_m3_s: float
    centreline: np.ndarray
    water: np.ndarray
    gauge_easting: float
    gauge_northing: float
    gauge_chainage_m: float
    zero_m: float
    level_m: float
    slope: float

    @cached_property
    def row_at_gauge(self) -> int:
        """Return the row of cells nearest the board."""
        return int(np.abs(self.chainage_m[:, 0] - self.gauge_chainage_m).argmin())


def load_truth(name: str, level: str) -> Truth:
    """Return the truth of reach ``uniform`` or ``patchy`` at low, normal or high.

    ``centreline`` and ``water`` are coordinates (points, 2) of easting and northing:
    the axis drawn downstream, and the closed ring of the water between the banks.
    """
    with np.load(FOLDER / f"{name}.npz") as stored:
        kept = {key: stored[key].astype(float) for key in stored.files}
    east = kept["corner_easting"] + kept["origin"][0]
    north = kept["corner_northing"] + kept["origin"][1]
    inside = (kept["s"] > 0) & (kept["s"] < 1600)
    corner = np.append(inside, False) | np.insert(inside, 0, False)
    chainage = np.broadcast_to(kept["s"][:, None], kept["bed_m"].shape)
    depth, *unit = kept[f"state_{level}"]
    wet = depth > DRY_M
    u, v = (np.where(wet, part / np.where(wet, depth, 1.0), np.nan) for part in unit)
    surface = np.where(wet, depth + kept["bed_m"], np.nan)
    gauge = int(np.abs(kept["s"] - GAUGE_CHAINAGE_M).argmin())
    usual = kept["state_normal"][0][gauge] + kept["bed_m"][gauge]
    zero = float(usual.mean()) - GAUGE_ZERO_BELOW_NORMAL_M
    left = np.column_stack([east[corner, -1], north[corner, -1]])
    right = np.column_stack([east[corner, 0], north[corner, 0]])
    middle = east.shape[1] // 2
    return Truth(
        name=name,
        level=level,
        chainage_m=chainage[inside],
        offset_m=kept["n"][inside],
        easting=_middle(east)[inside],
        northing=_middle(north)[inside],
        area_m2=_area(east, north)[inside],
        bed_m=kept["bed_m"][inside],
        manning=kept["manning"][inside],
        surface_m=surface[inside],
        depth_m=np.where(wet, depth, np.nan)[inside],
        speed_m_s=np.hypot(u, v)[inside],
        velocity_east_m_s=u[inside],
        velocity_north_m_s=v[inside],
        discharge_m3_s=float(kept[f"ends_{level}"][0]),
        centreline=np.column_stack([east[corner, middle], north[corner, middle]]),
        water=np.concatenate([right, left[::-1], right[:1]]),
        gauge_easting=float(east[gauge, 0]),
        gauge_northing=float(north[gauge, 0]),
        gauge_chainage_m=float(kept["s"][gauge]),
        zero_m=zero,
        level_m=float(np.nanmean(surface[gauge])) - zero,
        slope=float(kept["slope"]),
    )


@dataclass(frozen=True)
class ClubSurvey:
    """What a club would hand in: tables with the columns of a survey folder."""

    soundings: pd.DataFrame
    speeds: pd.DataFrame
    bed: pd.DataFrame


@dataclass(frozen=True)
class Sounding:
    """How a club sounds: lines across, drops along each, error of one depth, metres."""

    lines_m: float
    drops_m: float
    error_m: float = 0.05


USUAL = Sounding(lines_m=22.0, drops_m=2.5)
"""A weighted line from bank or boat."""
DENSE = Sounding(lines_m=12.0, drops_m=1.5)
"""A castable echo sounder reeled in across the river from every other peg."""


def survey_from_truth(
    truth: Truth, seed: int, sounding: Sounding = USUAL
) -> ClubSurvey:
    """Return soundings, floats and grabs taken on a truth, with a club's errors.

    Soundings at the truth's own level, by default lines across each 22 m, a drop
    each 2.5 m, error 0.05 m. Floats: 36 at the truth's level and 14 at another (high,
    or normal if this is high), 12 m runs whose surface speed is the mean speed / 0.85
    with 8 % error. Grabs: 60, worded by the bed's true roughness through Strickler.
    """
    rng = np.random.default_rng(seed)
    other = load_truth(truth.name, "normal" if truth.level == "high" else "high")
    floats = [
        _floats(truth, 36, rng=rng),
        _floats(other, 14, rng=rng),
    ]
    return ClubSurvey(
        soundings=_soundings(truth, sounding, rng=rng),
        speeds=pd.concat(floats, ignore_index=True),
        bed=_grabs(truth, 60, rng=rng),
    )


def interpolate(truth: Truth, values: np.ndarray, chainage_m, offset_m) -> np.ndarray:
    """Return values of the truth's cells at channel coordinates, bilinear in (s, n)."""
    s = truth.chainage_m[:, 0]
    row = np.clip(np.interp(chainage_m, s, np.arange(s.size)), 0, s.size - 1.000001)
    i = row.astype(int)
    t = row - i
    half = np.abs(truth.offset_m).max(axis=1)
    wide = np.interp(chainage_m, s, half)
    columns = truth.offset_m.shape[1]
    column = (np.asarray(offset_m) / wide + 1) / 2 * (columns - 1)
    column = np.clip(column, 0, columns - 1.000001)
    j = column.astype(int)
    r = column - j
    near = values[i, j] * (1 - r) + values[i, j + 1] * r
    far = values[i + 1, j] * (1 - r) + values[i + 1, j + 1] * r
    return near * (1 - t) + far * t


def conveyance_speed_m_s(truth: Truth) -> np.ndarray:
    """Return the rule the flow model must beat, on the true bed and true surface.

    In each row speed ~ depth^(2/3) with one n for all, scaled so that the row carries
    the true discharge.
    """
    depth = np.nan_to_num(truth.depth_m)
    along = np.abs(np.gradient(truth.chainage_m[:, 0]))[:, None]
    wide = truth.area_m2 / along
    share = depth ** (5 / 3) * wide
    speed = truth.discharge_m3_s * depth ** (2 / 3) / share.sum(axis=1, keepdims=True)
    return np.where(depth > 0, speed, np.nan)


def _soundings(truth, sounding, *, rng):
    lines = np.arange(6.0, 1596.0, sounding.lines_m)
    across = np.arange(-15.0, 15.1, sounding.drops_m)
    s, n = (part.ravel() for part in np.meshgrid(lines, across, indexing="ij"))
    s = s + rng.normal(0, 0.5, s.size)
    n = n + rng.normal(0, 0.5, n.size)
    bed = interpolate(truth, truth.bed_m, s, n)
    # a dry crossing has no sounding: the mean surface of its row is what counts
    surface = np.interp(s, truth.chainage_m[:, 0], np.nanmean(truth.surface_m, axis=1))
    depth = surface - bed + rng.normal(0, sounding.error_m, s.size)
    table = _at(truth, s, n)
    table["depth_m"] = depth.round(2)
    table["level_m"] = round(truth.level_m, 3)
    return table[depth > 0.05].reset_index(drop=True)


def _floats(truth, count, *, rng):
    """Return runs of about 12 m followed along the true velocity."""
    deep = np.argwhere(np.nan_to_num(truth.depth_m) > 0.25)
    inside = deep[(deep[:, 0] > 5) & (deep[:, 0] < truth.bed_m.shape[0] - 6)]
    rows, columns = inside[rng.choice(len(inside), count, replace=False)].T
    pick = (rows, columns)
    speed = truth.speed_m_s[pick]
    surface = speed / SURFACE_TO_MEAN * (1 + rng.normal(0, 0.08, count))
    step = 6.0 / speed
    east, north = truth.velocity_east_m_s[pick], truth.velocity_north_m_s[pick]
    return pd.DataFrame(
        {
            "x": truth.easting[pick] - step * east,
            "y": truth.northing[pick] - step * north,
            "x2": truth.easting[pick] + step * east,
            "y2": truth.northing[pick] + step * north,
            "seconds": (12.0 / surface).round(1),
            "level_m": round(truth.level_m, 3),
        }
    )


def _grabs(truth, count, *, rng):
    """Return one word a grab: the grain nearest to (21.1 n')^6, n' = n - 0.010.

    A club's word says something of the roughness and not all: one in five is the
    neighbouring class. Strickler's n = d^(1/6) / 21.1 (from memory); the 0.010 taken
    off is form roughness, our choice.
    """
    s, n = rng.uniform(10, 1590, count), rng.uniform(-14, 14, count)
    grain_mm = 1000 * (21.1 * (interpolate(truth, truth.manning, s, n) - 0.010)) ** 6
    words, sizes = list(GRAIN_MM), np.log(list(GRAIN_MM.values()))
    nearest = np.abs(np.log(grain_mm)[:, None] - sizes).argmin(axis=1)
    slip = np.where(rng.random(count) < 0.2, rng.choice([-1, 1], count), 0)
    table = _at(truth, s, n)
    table["substrate"] = [words[k] for k in np.clip(nearest + slip, 0, len(words) - 1)]
    return table


def _at(truth, s, n):
    return pd.DataFrame(
        {
            "x": interpolate(truth, truth.easting, s, n),
            "y": interpolate(truth, truth.northing, s, n),
        }
    )


def _middle(corners):
    half = 0.5 * (corners[1:] + corners[:-1])
    return 0.5 * (half[:, 1:] + half[:, :-1])


def _area(x, y):
    first = (x[1:, 1:] - x[:-1, :-1], y[1:, 1:] - y[:-1, :-1])
    second = (x[:-1, 1:] - x[1:, :-1], y[:-1, 1:] - y[1:, :-1])
    return 0.5 * (first[0] * second[1] - second[0] * first[1])
