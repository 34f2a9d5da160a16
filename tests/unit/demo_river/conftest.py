"""The fictional river: its script, its truth and the files it wrote."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import Transformer

Feature = tuple[dict, shapely.Geometry]
DEMO = Path(__file__).resolve().parents[3] / "demo_river"


@pytest.fixture(scope="session")
def demo() -> Path:
    """The fictional river's folder."""
    return DEMO


@pytest.fixture(scope="session")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_river", DEMO / "make_river.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_river"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def truth(script):
    return script.make_truth()


@pytest.fixture(scope="session")
def tables() -> dict[str, pd.DataFrame]:
    return {path.stem: pd.read_csv(path) for path in DEMO.glob("*.csv")}


@pytest.fixture(scope="session")
def read_features() -> Callable[[str], list[Feature]]:
    """How to read a shape file: properties and shapes, back on the British grid."""
    return features_of


@pytest.fixture(scope="session")
def places() -> list[Feature]:
    """Properties and shapes of the places."""
    return features_of("places.geojson")


def features_of(name: str) -> list[Feature]:
    to_grid = Transformer.from_crs("EPSG:4326", "EPSG:27700", always_xy=True)

    def on_grid(degrees: np.ndarray) -> np.ndarray:
        return np.column_stack(to_grid.transform(degrees[:, 0], degrees[:, 1]))

    collection = json.loads((DEMO / name).read_text(encoding="utf-8"))
    return [
        (
            feature["properties"],
            shapely.transform(
                shapely.from_geojson(json.dumps(feature["geometry"])), on_grid
            ),
        )
        for feature in collection["features"]
    ]
