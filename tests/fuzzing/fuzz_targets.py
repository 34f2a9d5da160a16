"""Every reader of what a club hands in, as one call on one spoilt file."""

from __future__ import annotations

import json
import math
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import fuzz_mutations as changes
import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
from case import PROGRAMMER
from clean_survey import TABLES, WATER, write_clean
from pyproj import CRS

from layers.bed_file import read_bed
from layers.channel_file import read_channel
from layers.flows_file import read_flows
from layers.grid import Bounds, Grid
from layers.pegs_file import read_pegs
from layers.placement import Stretch
from layers.places_file import read_place_shapes
from layers.plausible import warn_of_breaks
from layers.problems import ProblemList
from layers.raster import Band, write_bands
from layers.ready_rasters import check_rasters
from layers.returns_file import read_returns
from layers.river_file import read_river
from layers.shapes import read_shapes
from layers.sheet import Sheet
from layers.soundings_file import read_soundings
from layers.speeds_file import read_speeds
from layers.survey import read_survey
from layers.tables import read_table
from pegscore.baits import read_baits
from pegscore.evaluation import fit_ranker
from pegscore.float_guide import read_float_guide
from pegscore.layout_file import read_layout
from pegscore.peg_names import read_renamed
from pegscore.ranker import PegRanker
from pegscore.ranker_file import read_foreign
from pegscore.record import read_record
from pegscore.returns import read_visits
from pegscore.scenario import read_scenario
from pegscore.species import read_species, shipped_folder
from pegscore.trained import keep

SYSTEM = CRS.from_epsg(27700)

DRIVERS = {".gpkg": "GPKG", ".kml": "KML"}


class Unsound(AssertionError):
    """A reader gave back what no survey can hold, or said nothing of use."""


@dataclass(frozen=True)
class Target:
    """One reader: the file it reads, good ones to start from, how they are spoilt."""

    file: str
    seeds: tuple[bytes, ...]
    kinds: tuple[changes.Mutation, ...]
    read: Callable[[Path], object]


def targets(home: Path) -> dict[str, Target]:
    """Return every target; ``home`` is an empty folder for the good survey."""
    folder = write_clean(home / "clean")
    survey = read_survey(folder)
    stretch = Stretch(
        crs=survey.river.crs,
        river=survey.river,
        centreline=survey.centreline,
        water=survey.water,
    )
    found = {**_tables(stretch, survey.pegs), **_shapes(folder, stretch)}
    found["river.toml"] = Target(
        "river.toml", (TABLES["river.toml"].encode(),), changes.TEXT, _river
    )
    return found | _rasters(home, stretch) | _own_files() | _kept()


def _tables(stretch: Stretch, pegs: pd.DataFrame | None) -> dict[str, Target]:
    readers: dict[str, Callable[[Sheet], object]] = {
        "soundings": lambda sheet: read_soundings(sheet, stretch),
        "bed": lambda sheet: read_bed(sheet, stretch),
        "speeds": lambda sheet: read_speeds(sheet, stretch),
        "flows": lambda sheet: read_flows(sheet, stretch),
        "pegs": lambda sheet: read_pegs(sheet, stretch),
        "returns": lambda sheet: _visits(read_returns(sheet, pegs), pegs),
    }
    found = {}
    for stem, reader in readers.items():
        rows = TABLES[f"{stem}.csv"].splitlines()[:9]
        text = "\n".join(rows) + "\n"
        read = _table_reader(stem, reader)
        found[f"{stem}.csv"] = Target(
            f"{stem}.csv", (text.encode(),), changes.TABLE, read
        )
        found[f"{stem}.xlsx"] = Target(
            f"{stem}.xlsx", (_workbook(rows),), changes.ZIPPED, read
        )
    return found


def _table_reader(stem: str, reader: Callable[[Sheet], object]) -> Callable:
    def read(path: Path) -> None:
        problems = ProblemList()
        table = read_table(path, problems)
        if table is not None:
            sheet = Sheet(stem, path.name, table, problems)
            warn_of_breaks(sheet)
            found = reader(sheet)
            if not problems.refusals:
                must_be_sound(found)
        must_be_told(problems)

    return read


def _visits(returns: pd.DataFrame | None, pegs: pd.DataFrame | None) -> object:
    """Read returns on as ``train`` does."""
    if returns is not None and pegs is not None:
        read_visits(returns, pegs=pegs.index.astype(str))
    return returns


def _workbook(rows: list[str]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append([_as_number(cell) for cell in row.split(",")])
    held = changes.io.BytesIO()
    book.save(held)
    return held.getvalue()


def _as_number(cell: str) -> str | float | None:
    try:
        return float(cell)
    except ValueError:
        return cell or None


def _shapes(folder: Path, stretch: Stretch) -> dict[str, Target]:
    def channel(path: Path) -> None:
        problems = ProblemList()
        read_channel(path, stretch.crs, problems)
        must_be_told(problems)

    def places(path: Path) -> None:
        problems = ProblemList()
        shapes = read_shapes(path, problems)
        if shapes is not None:
            must_be_sound(read_place_shapes(shapes, path.name, stretch, problems))
        must_be_told(problems)

    found = {}
    for stem, read in (("channel", channel), ("places", places)):
        data = (folder / f"{stem}.geojson").read_bytes()
        name = f"{stem}.geojson"
        found[name] = Target(name, (data,), changes.TREE, read)
        frame = gpd.read_file(folder / name)
        for suffix, kinds in ((".gpkg", changes.BYTES), (".kml", changes.TEXT)):
            path = folder.parent / f"{stem}{suffix}"
            frame.to_file(path, driver=DRIVERS[suffix])
            name = path.name
            found[name] = Target(name, (path.read_bytes(),), kinds, read)
    return found


def _river(path: Path) -> None:
    problems = ProblemList()
    read_river(path, problems)
    must_be_told(problems)


def _rasters(home: Path, stretch: Stretch) -> dict[str, Target]:
    grid = Grid.covering(Bounds(*WATER.bounds), cell_m=10.0, crs=SYSTEM)
    path = home / "bed.tif"
    bed = np.full(grid.shape, 18.5, np.float32)
    write_bands(path, grid, [Band(name="bed", values=bed, unit="m")])

    def read(raster: Path) -> None:
        problems = ProblemList()
        check_rasters({"bed": raster}, stretch, problems)
        must_be_told(problems)

    return {"bed.tif": Target("bed.tif", (path.read_bytes(),), changes.BYTES, read)}


def _own_files() -> dict[str, Target]:
    data = shipped_folder().parent
    species = (shipped_folder() / "chub.toml").read_bytes()
    scenario = b'[[edit]]\narea = "riffle"\nbed_m = -0.2\nbottom = {gravel = 0.8, '
    scenario += b'sand = 0.2}\n[[edit]]\nfell = "all"\n'
    layout = {
        "type": "FeatureCollection",
        "rules": {"spacing_m": 10.0},
        "features": [
            {
                "type": "Feature",
                "properties": {"peg": str(number), "bank": "left"},
                "geometry": {"type": "Point", "coordinates": [-2.0, 52.6 + number]},
            }
            for number in range(3)
        ],
    }
    text, tree = changes.TEXT, changes.TREE
    told = {
        "chub.toml": (species, text, _species),
        "baits.toml": (
            (data / "baits.toml").read_bytes()[:3000].rpartition(b"\n[")[0],
            text,
            lambda path: read_baits(path.parent),
        ),
        "float_guide.toml": (
            (data / "float_guide.toml").read_bytes(),
            text,
            lambda path: read_float_guide(path.parent),
        ),
        "peg_names.toml": (
            b'[renamed]\n"14a" = "15"\n"2" = "3"\n',
            text,
            lambda path: read_renamed(path.parent),
        ),
        "scenario.toml": (scenario, text, read_scenario),
        "layout.geojson": (
            json.dumps(layout).encode(),
            tree,
            lambda path: must_be_sound(read_layout(path, SYSTEM).pegs),
        ),
    }
    return {
        name: Target(name, (seed,), kinds, read)
        for name, (seed, kinds, read) in told.items()
    }


def _species(path: Path) -> None:
    """Read a club's species file; the shipped ones would be read anew each time."""
    folder = path.parent / "club"
    (folder / "species").mkdir(parents=True, exist_ok=True)
    shutil.copyfile(path, folder / "species" / path.name)
    with mock.patch("pegscore.species.shipped_folder", return_value=folder):
        read_species(folder)


def _kept() -> dict[str, Target]:
    """Return what pegscore wrote itself: a ranker, and the record of a run."""
    run = {"levels_m": [0.6], "warnings": [], "notes": ["n"], "inputs": {"a": "b"}}

    def use(path: Path) -> None:
        rankers, _ = read_foreign(path)
        pegs = pd.DataFrame(
            {
                "peg": ["1", "2"],
                "chainage_m": [0.0, 40.0],
                "depth_m": [1.0, 2.0],
                "log_prior": [-1.0, -0.5],
            }
        )
        for ranker in rankers.values():
            ranker.log_rate(pegs)
            ranker.log_rate_sd(pegs)

    return {
        "ranker.json": Target("ranker.json", (_ranker(),), changes.TREE, use),
        "run.json": Target(
            "run.json",
            (json.dumps(run).encode(),),
            changes.TREE,
            lambda path: read_record(path.parent),
        ),
    }


def _ranker() -> bytes:
    rng = np.random.default_rng(5)
    rows = pd.DataFrame(
        {
            "peg": [str(number) for number in range(8)] * 6,
            "chainage_m": np.tile(np.arange(8) * 30.0, 6),
            "depth_m": np.tile(rng.uniform(0.5, 2.5, 8), 6),
            "log_prior": np.tile(rng.normal(-1.0, 0.3, 8), 6),
            "hours": 4.0,
            "fish": rng.poisson(2.0, 48),
        }
    )
    ranker = PegRanker(
        prior="log_prior", features=("depth_m",), peg="peg", chainage="chainage_m"
    )
    kept = keep(
        fit_ranker(ranker, rows),
        inflation=(1.5, 1.0),
        for_fished=True,
        new_share=0.5,
        records={"0": 6},
    )
    told = {"river": "Test Water", "species": {"chub": {"ranker": kept.as_record()}}}
    return json.dumps(told).encode()


def must_be_told(problems: ProblemList) -> None:
    """Every problem is one plain line with a way out."""
    for problem in problems.found:
        line = problem.line()
        if not problem.way_out or "\n" in line or "\r" in line:
            raise Unsound(line)
        said = f"{problem.what} {problem.way_out}"
        if PROGRAMMER.search(said):
            raise Unsound(said)


def must_be_sound(found: object) -> None:
    """No number that was read is infinite, no depth, pace, share or hours negative."""
    if not isinstance(found, pd.DataFrame):
        return
    for name in found.select_dtypes("number"):
        values = found[name].to_numpy(float)
        if np.isinf(values).any():
            message = f"{name} is infinite"
            raise Unsound(message)
        least = float(np.nanmin(values)) if np.isfinite(values).any() else math.nan
        if least < 0 and name in {"depth_m", "speed_m_s", "hours", "count", "walk_m"}:
            message = f"{name} is {least}"
            raise Unsound(message)
