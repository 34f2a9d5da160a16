"""What if the river were edited: gravel added, the bed lowered, trees felled.

A scenario is a small TOML file::

    title = "gravel below the footbridge"

    [[edit]]
    area = "gravel.geojson"      # beside the scenario, or the name of a place
    bottom = { gravel = 0.8, sand = 0.2 }

    [[edit]]
    area = "Cutting Pool"
    bed_m = -0.3                 # 0.3 m lower; positive raises it

    [[edit]]
    fell = "big willow"          # a tree of the places by its name, or "all"

A new bottom changes the bottom alone. A new bed changes depth, and pace by
continuity: the water that ran through a place still does, so pace times depth stays.
The water's surface stays too. That is a first guess for small works, [P]: no flow is
computed anew. Trees are no part of any score: felling them takes their cautions away,
and their cover, which no number here holds.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from layers.problems import ProblemList
from layers.river import SUBSTRATES
from layers.shape_kinds import SUFFIXES
from layers.shapes import into_crs, read_shapes
from layers.stack import Stack
from pegscore.cautions import peg_cautions
from pegscore.errors import ScenarioRefused
from pegscore.wording import one_line

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from pegscore.workflow import Run

CONSENT = (
    "Works in or beside a river need consent: ask the water's authority and a "
    "fisheries adviser before anything is moved, dug or felled. Felled cover and "
    "disturbed gravel are slow to come back."
)
"""What goes with every what-if; usual caution, deferring to those who decide."""

MOST_BED_M = 2.0
"""A bed moved by more is taken for a slip, metres; [P]."""

SHALLOWEST_M = 0.02
"""Water shallower than this after an edit counts as dry, metres; [P]."""

SUM_SLACK = 0.02
"""Shares may miss 1 by this, as in the survey's bed file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One change of the river: of an area's bottom or bed, or of its trees."""

    area: str = ""
    bottom: Mapping[str, float] = field(default_factory=dict)
    bed_m: float = 0.0
    fell: str = ""

    def __post_init__(self) -> None:
        if (wrong := self._wrong()) is not None:
            raise ScenarioRefused(wrong)

    def _wrong(self) -> str | None:
        strange = [name for name in self.bottom if name not in SUBSTRATES]
        if strange:
            return f"no bottom is called {strange[0]!r}; use {', '.join(SUBSTRATES)}"
        total = sum(self.bottom.values())
        if self.bottom and not (
            abs(total - 1) <= SUM_SLACK and min(self.bottom.values()) >= 0
        ):
            return f"the bottom's shares add up to {total:g}; make them add up to 1"
        if not abs(self.bed_m) <= MOST_BED_M:
            return (
                f"bed_m is {self.bed_m:g}; give metres up to {MOST_BED_M:g}, - lowers"
            )
        if not (self.fell or (self.area and (self.bottom or self.bed_m))):
            return "an edit changes nothing; give fell, or an area with bottom or bed_m"
        return None


def read_scenario(path: Path) -> tuple[Edit, ...]:
    """Read a scenario's edits; area files are looked for beside it.

    Raises
    ------
    ScenarioRefused
        If it is not such a file.
    """
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8-sig"))
        edits = [_edit(block, path) for block in told["edit"]]
    except tomllib.TOMLDecodeError as error:
        message = f"{path.name} is not TOML ({error}); see --help for its form"
        raise ScenarioRefused(message) from error
    except (
        KeyError,
        TypeError,
        AttributeError,
        ValueError,
        OverflowError,
        OSError,
    ) as error:
        message = f"{path.name} holds no proper [[edit]] ({error}); see --help"
        raise ScenarioRefused(message) from error
    return tuple(edits)


def _is_file(path: Path) -> bool:
    """Say whether a name is a file's; one that none could have is not."""
    try:
        return path.is_file()
    except OSError:
        return False


def _edit(block: dict[str, Any], path: Path) -> Edit:
    area = str(block.get("area", ""))
    beside = path.parent / area
    return Edit(
        area=str(beside) if area and _is_file(beside) else area,
        bottom={name: float(part) for name, part in block.get("bottom", {}).items()},
        bed_m=float(block.get("bed_m", 0.0)),
        fell=str(block.get("fell", "")),
    )


def edited_run(run: Run, edits: Sequence[Edit]) -> Run:
    """Return the run as it would be after the edits; the survey's files stay.

    Raises
    ------
    ScenarioRefused
        If an area or a tree is not there, or lies off the water.
    """
    fixed = dict(run.stack.fixed)
    by_level = {level: dict(each) for level, each in run.stack.by_level.items()}
    places = run.survey.places
    for edit in edits:
        if edit.fell:
            places = _felled(places, edit.fell)
            continue
        cells = run.stack.grid.mask_of(_area(run, edit.area)) & ~np.isnan(fixed["bed"])
        if not cells.any():
            message = f"the area {edit.area!r} holds no water; draw it on the river"
            raise ScenarioRefused(message)
        if edit.bottom:
            _lay_bottom(fixed, run.stack.substrates, edit.bottom, cells)
        if edit.bed_m:
            _move_bed(fixed, by_level, edit.bed_m, cells)
    stack = Stack(
        grid=run.stack.grid, fixed=fixed, by_level=by_level, notes=run.stack.notes
    )
    cautions = peg_cautions(run.pegs, places)
    survey = replace(run.survey, places=places)
    return replace(run, stack=stack, survey=survey, cautions=cautions, _structures={})


def _lay_bottom(
    fixed: dict[str, NDArray[np.float32]],
    classes: Sequence[str],
    bottom: Mapping[str, float],
    cells: NDArray[np.bool_],
) -> None:
    missing = [name for name in bottom if bottom[name] and name not in classes]
    if missing or not classes:
        what = missing[0] if missing else "any bottom"
        message = f"this survey knows nothing of {what}; survey the bottom first"
        raise ScenarioRefused(message)
    total = sum(bottom.values())
    for name in classes:
        fixed[name] = np.where(
            cells, np.float32(bottom.get(name, 0.0) / total), fixed[name]
        )


def _move_bed(
    fixed: dict[str, NDArray[np.float32]],
    by_level: Mapping[float, dict[str, NDArray[np.float32]]],
    bed_m: float,
    cells: NDArray[np.bool_],
) -> None:
    """Move the bed and the depth over it; pace keeps the water that runs there."""
    fixed["bed"] = np.where(cells, fixed["bed"] + np.float32(bed_m), fixed["bed"])
    for layers in by_level.values():
        before = layers["depth"]
        after = before - np.float32(bed_m)
        after = np.where(after > SHALLOWEST_M, after, np.nan).astype(np.float32)
        ratio = (before / after).astype(np.float32)
        layers["depth"] = np.where(cells, after, before)
        for name in ("speed", "speed_sd"):
            if name in layers:
                layers[name] = np.where(cells, layers[name] * ratio, layers[name])


def _area(run: Run, area: str) -> BaseGeometry:
    """Return an area by its file or by the name of a place."""
    places = run.survey.places
    if places is not None:
        named = places["name"].map(one_line) == area
        if named.any():
            return _only_areas(places.loc[named].geometry, area)
    path, problems = Path(area), ProblemList()
    if not _is_file(path) or path.suffix.lower() not in SUFFIXES:
        kinds = ", ".join(SUFFIXES)
        message = (
            f"there is no area {area!r}: neither a place's name nor a file {kinds}"
        )
        raise ScenarioRefused(message)
    shapes = read_shapes(path, problems)
    if shapes is not None:
        shapes = into_crs(shapes, run.survey.river.crs, path.name, problems)
    if shapes is None or problems.refusals:
        raise ScenarioRefused("\n".join(one.line() for one in problems.refusals))
    return _only_areas(shapes.geometry, area)


def _only_areas(shapes: gpd.GeoSeries, area: str) -> BaseGeometry:
    joined = shapely.union_all(shapely.make_valid(shapes.to_numpy()))
    if not joined.area > 0:
        message = f"{area!r} is no area; draw a polygon"
        raise ScenarioRefused(message)
    return joined


def _felled(places: gpd.GeoDataFrame | None, fell: str) -> gpd.GeoDataFrame:
    trees = None if places is None else places["kind"] == "tree"
    if places is None or trees is None or not trees.any():
        message = f"there is no tree {fell!r} to fell: the places hold none"
        raise ScenarioRefused(message)
    names = places["name"].map(one_line)
    gone = trees if fell == "all" else trees & (names == fell)
    if not gone.any():
        told = ", ".join(sorted(filter(None, names[trees]))) or "none has a name"
        message = f"there is no tree {fell!r}; choose 'all' or one of: {told}"
        raise ScenarioRefused(message)
    left: gpd.GeoDataFrame = places[~gone]
    return left
