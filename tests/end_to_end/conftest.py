"""A small river written as a survey folder, in several ways."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pyproj import Transformer
from shapely import LineString, Polygon, to_geojson

LENGTH_M, HALF_WIDTH_M = 260.0, 13.0
ORIGIN = (690_000.0, 350_000.0)
WAVE_M, SWING_M = 260.0, 12.0
FEET_PER_METRE = 1 / 0.3048


@dataclass(frozen=True, kw_only=True)
class Writing:
    """How the river is put on paper; the river itself is always the same."""

    turned_deg: float = 0.0
    shifted_m: tuple[float, float] = (0.0, 0.0)
    mirrored: bool = False
    reversed_rows: bool = False
    feet: bool = False
    lonlat: bool = False


def axis(chainage: np.ndarray, offset: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A gentle sine bend flowing east; offset to the left (north)."""
    chainage, offset = np.broadcast_arrays(chainage, offset)
    angle = 2 * np.pi * chainage / WAVE_M
    slope = SWING_M * 2 * np.pi / WAVE_M * np.cos(angle)
    norm = np.hypot(1.0, slope)
    east = chainage - offset * slope / norm
    north = SWING_M * np.sin(angle) + offset / norm
    return east, north


def bed_m(chainage: np.ndarray, offset: np.ndarray) -> np.ndarray:
    """Pools on one side, riffles between, shelving to the banks."""
    depth = 1.25 + 0.55 * np.sin(2 * np.pi * chainage / 90 + 0.3)
    across = np.clip(1 - (offset / HALF_WIDTH_M) ** 2, 0.0, None)
    lean = 1 + 0.35 * offset / HALF_WIDTH_M * np.sin(2 * np.pi * chainage / WAVE_M)
    return 20.6 - 0.0006 * chainage - depth * across * lean


def placed(writing: Writing, chainage, offset) -> tuple[np.ndarray, np.ndarray]:
    """Where a point of the river lies on the sheet."""
    east, north = axis(np.asarray(chainage, float), np.asarray(offset, float))
    if writing.mirrored:
        north = -north
    turn = np.radians(writing.turned_deg)
    east, north = (
        east * np.cos(turn) - north * np.sin(turn),
        east * np.sin(turn) + north * np.cos(turn),
    )
    return (
        east + ORIGIN[0] + writing.shifted_m[0],
        north + ORIGIN[1] + writing.shifted_m[1],
    )


def columns(writing: Writing, chainage, offset, ends=("x", "y")) -> dict:
    """Coordinates as table columns, projected or in degrees."""
    east, north = placed(writing, chainage, offset)
    if writing.lonlat:
        to_wgs84 = Transformer.from_crs("EPSG:27700", "EPSG:4326", always_xy=True)
        east, north = to_wgs84.transform(east, north)
        ends = tuple({"x": "lon", "y": "lat"}[end[0]] + end[1:] for end in ends)
        return {ends[0]: np.round(east, 9), ends[1]: np.round(north, 9)}
    return {ends[0]: np.round(east, 4), ends[1]: np.round(north, 4)}


def soundings(writing: Writing) -> pd.DataFrame:
    stations = np.arange(4.0, LENGTH_M - 3, 9.0)
    across = np.linspace(-HALF_WIDTH_M + 1, HALF_WIDTH_M - 1, 10)
    chainage, offset = (grid.ravel() for grid in np.meshgrid(stations, across))
    order = np.lexsort((offset, chainage))
    chainage, offset = chainage[order], offset[order]
    surface = 20.6 - 0.0006 * chainage
    depth = np.round(surface - bed_m(chainage, offset), 3)
    name = "depth_ft" if writing.feet else "depth_m"
    scale = FEET_PER_METRE if writing.feet else 1.0
    return pd.DataFrame({**columns(writing, chainage, offset), name: depth * scale})


def grabs(writing: Writing) -> pd.DataFrame:
    stations = np.arange(10.0, LENGTH_M, 20.0)
    chainage, offset = (
        grid.ravel() for grid in np.meshgrid(stations, [-10.0, -5.0, 0.0, 5.0, 10.0])
    )
    silty = (np.abs(offset) > 8) & (chainage > LENGTH_M / 2)
    sandy = (chainage < LENGTH_M / 3) & ~silty
    words = np.where(silty, "silt", np.where(sandy, "sand", "gravel"))
    return pd.DataFrame({**columns(writing, chainage, offset), "substrate": words})


def floats(writing: Writing) -> pd.DataFrame:
    chainage, offset = (
        grid.ravel() for grid in np.meshgrid(np.arange(20.0, 220.0, 40), [-6.0, 0, 6.0])
    )
    seconds = 20.0 / (0.45 + 0.1 * np.cos(offset / 4))
    return pd.DataFrame(
        {
            **columns(writing, chainage, offset),
            **columns(writing, chainage + 20.0, offset, ("x2", "y2")),
            "seconds": np.round(seconds, 1),
        }
    )


def pegs(writing: Writing) -> pd.DataFrame:
    stations = np.arange(30.0, LENGTH_M - 30, 20.0)
    chainage = np.concatenate([stations, stations + 5])
    offset = np.repeat([HALF_WIDTH_M + 1.5, -HALF_WIDTH_M - 1.5], len(stations))
    names = [str(number) for number in range(1, len(chainage) + 1)]
    return pd.DataFrame({"peg": names, **columns(writing, chainage, offset)})


def channel(writing: Writing) -> dict:
    along = np.arange(0.0, LENGTH_M + 1, 4.0)
    middle = np.column_stack(placed(writing, along, 0.0))
    left = np.column_stack(placed(writing, along, HALF_WIDTH_M))
    right = np.column_stack(placed(writing, along, -HALF_WIDTH_M))
    to_wgs84 = Transformer.from_crs("EPSG:27700", "EPSG:4326", always_xy=True)

    def degrees(points: np.ndarray) -> np.ndarray:
        return np.column_stack(to_wgs84.transform(points[:, 0], points[:, 1]))

    ring = np.vstack([left, right[::-1]])
    shapes = {
        "centreline": LineString(degrees(middle)),
        "water": Polygon(degrees(ring)),
    }
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"part": part},
                "geometry": json.loads(to_geojson(shape)),
            }
            for part, shape in shapes.items()
        ],
    }


def river_file(writing: Writing) -> str:
    east, north = placed(writing, 5.0, HALF_WIDTH_M)
    return (
        '[river]\nname = "Test Water"\ncrs = "EPSG:27700"\n\n'
        f"[gauge]\nlevel_m = 0.60\nzero_m = 20.0\nx = {float(east):.4f}\n"
        f"y = {float(north):.4f}\nslope = 0.0006\n"
    )


@pytest.fixture(scope="session")
def write_survey() -> Callable[..., Path]:
    """Return a function that writes the small river into a folder."""

    def write(folder: Path, writing: Writing = Writing()) -> Path:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "river.toml").write_text(river_file(writing), encoding="utf-8")
        (folder / "channel.geojson").write_text(json.dumps(channel(writing)))
        makers = {"soundings": soundings, "bed": grabs, "speeds": floats}
        for name, make in makers.items():
            table = make(writing)
            if writing.reversed_rows:
                table = table.iloc[::-1]
            table.to_csv(folder / f"{name}.csv", index=False)
        pegs(writing).to_csv(folder / "pegs.csv", index=False)
        return folder

    return write


@pytest.fixture(scope="session")
def writing() -> type[Writing]:
    """The ways to write the river."""
    return Writing


@pytest.fixture(scope="session")
def write_returns() -> Callable[[Path], None]:
    """Return a function that adds an invented club's visits to the small river."""

    def write(folder: Path) -> None:
        draw, visits = np.random.default_rng(5), 160
        names = draw.integers(1, 21, visits)
        days = np.datetime64("2024-06-16") + draw.integers(0, 60, visits)
        table = {
            "visit": [f"V{number}" for number in range(visits)],
            "date": days.astype(str),
            "angler": [f"A{number % 12}" for number in range(visits)],
            "peg": names,
            "hours": 4.0,
            "species": "barbel",
            "count": draw.poisson(0.5 + 0.1 * names),
        }
        pd.DataFrame(table).to_csv(folder / "returns.csv", index=False)

    return write
