"""The house rules that a reader of one file cannot see."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import layers
import pegscore

PACKAGES = {
    "layers": Path(layers.__file__).parent,
    "pegscore": Path(pegscore.__file__).parent,
}
MODULES = sorted(
    path
    for folder in PACKAGES.values()
    for path in folder.rglob("*.py")
    if "demo_river" not in path.relative_to(folder).parts  # rides along in the wheel
)
HOMES = {
    "rasterio": {"layers/raster.py", "layers/raster_facts.py"},
    "affine": {"layers/raster.py"},
    "folium": {"pegscore/pages"},
    "branca": {"pegscore/pages"},
    "jinja2": {"pegscore/pages"},
    "openpyxl": {"layers/spreadsheets.py", "pegscore/exports"},
    "matplotlib": {"pegscore/prints"},
    "gpxpy": {"pegscore/exports"},
    "fastkml": {"pegscore/exports"},
    "pygeoif": {"pegscore/exports"},
    "osbng": {"pegscore/exports"},
    "contourpy": {"layers/contours.py"},
    "numba": {"pegscore/compiled.py"},
    "dask": {"pegscore/fleet.py", "pegscore/fleet"},
    "distributed": {"pegscore/fleet.py", "pegscore/fleet"},
    "astral": {"pegscore/daylight.py"},
    "highspy": {"pegscore/milp.py"},
}
HEAVY = (
    "sklearn",
    "folium",
    "branca",
    "matplotlib",
    "dask",
    "openpyxl",
    "numba",
    "astral",
    "gpxpy",
    "pyarrow",
    "highspy",
)
ROOT = Path(__file__).parent.parent
LONGEST_MODULE, LONGEST_FUNCTION = 300, 32


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
            parent = f"{path.parent.parent.name}/{path.parent.name}"
            here = {f"{path.parent.name}/{path.name}", parent}
            assert homes & here, f"{library} in {path}"


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


def test_the_table_of_rooms_names_every_module():
    rooms = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    unnamed = [p.name for p in MODULES if f"{p.name}`" not in rooms]
    assert [name for name in unnamed if not name.startswith("__")] == []


RUNTIME_EXTRAS = ("fast", "fleet")
IMPORTED_AS = {"scikit-learn": "sklearn"}
CALLED_BY_PANDAS = {"pyarrow"}  # ``to_parquet`` of the fleet's tables


def runtime_requirements() -> list[str]:
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    project = tomllib.loads(text)["project"]
    extras = project["optional-dependencies"]
    return [
        *project["dependencies"],
        *(each for n in RUNTIME_EXTRAS for each in extras[n]),
    ]


def named_to_import_module(path: Path) -> set[str]:
    """Libraries loaded only when they are needed: ``import_module("numba")``."""
    return {
        str(node.args[0].value)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "import_module"
        and isinstance(node.args[0], ast.Constant)
    }


def foreign_imports() -> set[str]:
    names = {
        name
        for path in MODULES
        for name in imported_names(path) | named_to_import_module(path)
    }
    used = {name.split(".")[0] for name in names}
    return used - set(sys.stdlib_module_names) - set(PACKAGES)


def declared_modules() -> set[str]:
    wanted = {re.split(r"[^\w-]", line)[0] for line in runtime_requirements()}
    return {IMPORTED_AS.get(name, name) for name in wanted}


def test_every_library_imported_is_a_declared_dependency():
    assert foreign_imports() - declared_modules() == set()


def test_every_declared_dependency_is_imported_somewhere():
    assert declared_modules() - foreign_imports() == CALLED_BY_PANDAS


def test_the_oldest_libraries_tried_are_the_floors_that_are_declared():
    lines = (ROOT / ".ci" / "oldest.txt").read_text("utf-8").splitlines()
    tried = [line for line in lines if line and not line.startswith("#")]
    floors = [line.replace(">=", "==") for line in runtime_requirements()]
    assert all(re.fullmatch(r"[\w-]+==[\d.]+", line) for line in tried)
    assert sorted(tried) == sorted(floors)


def called_names(path: Path) -> set[str]:
    calls = [
        node.func
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
    ]
    return {call.id for call in calls if isinstance(call, ast.Name)}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_nothing_that_is_read_can_run(path: Path):
    roots = {name.split(".")[0] for name in imported_names(path)}
    unsafe = {"pickle", "cPickle", "dill", "cloudpickle", "joblib", "marshal", "shelve"}
    assert not roots & unsafe
    assert not called_names(path) & {"eval", "exec", "compile", "__import__"}
