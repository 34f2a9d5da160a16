"""Small worlds whose answers are known, shared by every test."""

from __future__ import annotations

import os

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from pyproj import CRS
from shapely import LineString, Polygon
from threadpoolctl import threadpool_limits

from layers.grid import Bounds, Grid

settings.register_profile(
    "steady",
    derandomize=True,
    deadline=None,
    max_examples=50,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("steady")


def pytest_configure(config: pytest.Config) -> None:
    """Keep each process to one thread, and its children, where several share cores."""
    if hasattr(config, "workerinput"):
        os.environ.setdefault("OMP_NUM_THREADS", "1")
        threadpool_limits(limits=1)


def pytest_collection_modifyitems(
    config: pytest.Config, items: list[pytest.Item]
) -> None:
    """Leave out what takes many minutes unless it was asked for by name."""
    if "soak" in (config.option.markexpr or ""):
        return
    kept = [item for item in items if item.get_closest_marker("soak") is None]
    config.hook.pytest_deselected(
        items=[item for item in items if item.get_closest_marker("soak")]
    )
    items[:] = kept


@pytest.fixture(scope="session")
def crs() -> CRS:
    """A projected system in metres."""
    return CRS("EPSG:27700")


@pytest.fixture(params=[11, 12, 13])
def rng(request: pytest.FixtureRequest) -> np.random.Generator:
    """Three seeds, so that no test leans on one lucky draw."""
    return np.random.default_rng(request.param)


@pytest.fixture(scope="session")
def straight_line() -> LineString:
    """A centreline of 200 m due east along northing 50: left bank is north."""
    return LineString([(1000.0, 50.0), (1200.0, 50.0)])


@pytest.fixture(scope="session")
def straight_water() -> Polygon:
    """Water 200 x 20 m round ``straight_line``."""
    return Polygon([(1000, 40), (1200, 40), (1200, 60), (1000, 60)])


@pytest.fixture(scope="session")
def straight_grid(crs: CRS) -> Grid:
    """One-metre cells exactly covering ``straight_water``."""
    return Grid.covering(
        Bounds(west=1000, east=1200, south=40, north=60), cell_m=1.0, crs=crs
    )
