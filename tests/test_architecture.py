"""The house rules that a reader of one file cannot see."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import layers
import pegscore

PACKAGES = {
    "layers": Path(layers.__file__).parent,
    "pegscore": Path(pegscore.__file__).parent,
}
MODULES = sorted(path for folder in PACKAGES.values() for path in folder.rglob("*.py"))
HOMES = {
    "rasterio": {"raster.py"},
    "affine": {"raster.py"},
    "folium": {"pages"},
    "branca": {"pages"},
    "openpyxl": {"tables.py"},
}
HEAVY = ("sklearn", "folium", "branca", "matplotlib", "dask", "openpyxl")
LONGEST_MODULE, LONGEST_FUNCTION = 320, 45


def imported_names(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name} uses a relative import"
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_layers_never_imports_pegscore(path: Path):
    if PACKAGES["layers"] in path.parents:
        roots = {name.split(".")[0] for name in imported_names(path)}
        assert "pegscore" not in roots


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_each_heavy_library_has_one_home(path: Path):
    for library, homes in HOMES.items():
        uses = {name.split(".")[0] for name in imported_names(path)}
        if library in uses:
            assert homes & {path.name, path.parent.name}, f"{library} in {path}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_modules_and_functions_stay_short(path: Path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST_MODULE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0
            assert lines <= LONGEST_FUNCTION, f"{path.name}:{node.name}"


@pytest.mark.parametrize("package", PACKAGES)
def test_importing_a_package_loads_nothing_heavy(package: str):
    code = f"import sys, {package}; print(*[n for n in {HEAVY!r} if n in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == []


def test_help_loads_no_geospatial_library():
    code = (
        "import sys\nfrom pegscore.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = ['geopandas', 'rasterio', 'pandas', 'scipy', 'sklearn', 'folium']\n"
        "print('LOADED', *[n for n in heavy if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1].split() == ["LOADED"]


def test_the_species_files_are_installed_with_the_package():
    folder = PACKAGES["pegscore"] / "data" / "species"
    assert len(list(folder.glob("*.toml"))) >= 10
