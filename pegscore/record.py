"""``run.json``: what a run was made from, so that every result can be traced."""

from __future__ import annotations

import json
import platform
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, Self

from layers.raster import replacing

if TYPE_CHECKING:
    from pathlib import Path

    from layers.river import Survey
    from layers.stack import Stack

TRACED = (
    "pegscore",
    "numpy",
    "scipy",
    "pandas",
    "geopandas",
    "shapely",
    "pyproj",
    "rasterio",
    "scikit-learn",
    "folium",
)
"""The distributions whose versions a result depends on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Inputs by content, options, versions, warnings and notes of one run."""

    river: str
    cell_m: float
    levels_m: tuple[float, ...]
    inputs: dict[str, str]
    files: dict[str, str]
    versions: dict[str, str]
    warnings: tuple[str, ...]
    absent: dict[str, str]
    notes: tuple[str, ...]

    @classmethod
    def of(cls, survey: Survey, stack: Stack, files: dict[str, str]) -> Self:
        """Take down what a stack was built from, and its files' fingerprints."""
        return cls(
            river=survey.river.name,
            cell_m=stack.grid.cell_m,
            levels_m=stack.levels_m,
            inputs=dict(survey.hashes),
            files=files,
            versions=versions(),
            warnings=tuple(problem.line() for problem in survey.warnings),
            absent=dict(survey.absent),
            notes=stack.notes,
        )

    def matches(self, survey: Survey, *, cell_m: float) -> bool:
        """Say whether layers of this record still serve a survey as it is now."""
        return (
            self.inputs == dict(survey.hashes)
            and self.cell_m == cell_m
            and self.versions == versions()
        )


def versions() -> dict[str, str]:
    """Return the installed version of every library a result depends on."""
    found = {"python": platform.python_version()}
    for name in TRACED:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found


def write_record(out: Path, record: Record) -> Path:
    """Write ``run.json`` into ``out``, replacing an older one when complete."""
    path = out / "run.json"
    with replacing(path) as temporary:
        text = json.dumps(asdict(record), indent=2, ensure_ascii=False)
        temporary.write_text(text + "\n", encoding="utf-8")
    return path


def read_record(out: Path) -> Record | None:
    """Read ``run.json``; None if there is none or it is not one of ours."""
    try:
        told = json.loads((out / "run.json").read_text(encoding="utf-8"))
        for name in ("levels_m", "warnings", "notes"):
            told[name] = tuple(told[name])
        return Record(**told)
    except (OSError, ValueError, KeyError, TypeError):
        return None
