"""The independent flow solver and its stored truths, loaded by path."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

HERE = Path(__file__).parent


def module_beside(name: str) -> ModuleType:
    """Return a module of this folder without making the folder a package."""
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, HERE / f"{name}.py")
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def shallow_water() -> ModuleType:
    """Full shallow-water solver, independent of the package."""
    return module_beside("shallow_water")


@pytest.fixture(scope="session")
def flow_truth() -> ModuleType:
    """Stored truths: ``load_truth``, ``survey_from_truth``."""
    return module_beside("flow_truth")


@pytest.fixture(scope="session")
def make_truth() -> ModuleType:
    """The script that made the stored truths."""
    return module_beside("make_truth")
