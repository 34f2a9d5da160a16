"""What there is to do for a fleet of rivers: blocks of bank, named by their content."""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from layers.channel import Channel
from layers.survey import read_survey
from layers.walk import StoredStack
from pegscore.candidates import bank_places
from pegscore.compiled import runs_compiled
from pegscore.errors import FleetRefused, PegError
from pegscore.methods import find_method
from pegscore.record import versions
from pegscore.species import find_species, read_species
from pegscore.workflow import build_layers

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from layers.river import Survey
    from pegscore.compiled import Engine
    from pegscore.species import Species

FORM = 1
"""Raised when what is in a block's file changes, so that old ones are made again."""

CELLS_A_SWIM = 150.0
"""About how many square metres a swim has; only to judge whether compiling pays."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How the rivers are swept.

    Parameters
    ----------
    level_m : float, optional
        The reading of each board; each river's own usual level if not given.
    step_m : float, default=1
        Metres of bank between places.
    species : str, default='all'
        Names with commas between, or ``all``.
    method : str, default='float'
        How the swims are fished.
    cell_m : float, default=1
        The side of a cell, metres.
    block_m : float, default=1000
        Metres of river a block; a block is what is lost when a computer dies.
    engine : {'auto', 'compiled', 'numpy'}, default='auto'
        See ``pegscore.compiled``.
    """

    level_m: float | None = None
    step_m: float = 1.0
    species: str = "all"
    method: str = "float"
    cell_m: float = 1.0
    block_m: float = 1000.0
    engine: Engine = "auto"

    def __post_init__(self) -> None:
        find_method(self.method)
        runs_compiled(self.engine, 0)
        if not (math.isfinite(self.block_m) and self.block_m > 0):
            message = f"a block of {self.block_m} m cannot be cut; give metres above 0"
            raise PegError(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One block of one river; plain values, so that it can be sent to any worker."""

    folder: Path
    out: Path
    river: str
    number: int
    start_m: float
    end_m: float
    level_m: float
    step_m: float
    method: str
    species: tuple[str, ...]
    factors: tuple[str, ...]
    engine: Engine
    made_from: str

    @property
    def digest(self) -> str:
        """The hash of all that the block's numbers depend on."""
        told = {name: value for name, value in asdict(self).items() if name != "out"}
        text = json.dumps(told | {"folder": "", "form": FORM}, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def path(self) -> Path:
        """Where the block's table goes."""
        name = f"part-{self.number:05d}-{self.digest[:16]}.parquet"
        return self.out / f"river={self.river}" / name


def plan_river(folder: Path, out: Path, wishes: Wishes) -> list[Job]:
    """Build or reuse a river's layers and return its blocks, upstream first.

    Raises
    ------
    SurveyRefused
        With every problem of the folder.
    PegError
        If a wish cannot be met.
    """
    survey = read_survey(folder)
    level_m = survey.river.gauge.level_m if wishes.level_m is None else wishes.level_m
    species = read_species(folder)
    names = tuple(find_species(species, wishes.species))
    layers = folder / "out" / "layers"
    build_layers(
        survey, folder / "out", cell_m=wishes.cell_m, levels_m=(level_m,), between=False
    )
    channel = Channel.fit(survey.centreline, survey.water)
    places = len(bank_places(channel, wishes.step_m))
    compiled = runs_compiled(wishes.engine, places * CELLS_A_SWIM / wishes.cell_m**2)
    count = max(1, math.ceil(channel.length_m / wishes.block_m - 1e-9))
    made_from = _made_from(survey, layers, [species[name] for name in names])
    factors = _factors(layers, level_m)
    return [
        Job(
            folder=folder.resolve(),
            out=out.resolve(),
            river=river_name(folder),
            number=number,
            start_m=number * wishes.block_m,
            end_m=(number + 1) * wishes.block_m if number + 1 < count else math.inf,
            level_m=float(level_m),
            step_m=float(wishes.step_m),
            method=wishes.method,
            species=names,
            factors=factors,
            engine="compiled" if compiled else "numpy",
            made_from=made_from,
        )
        for number in range(count)
    ]


def river_name(folder: Path) -> str:
    """Return the name a river's results go under: its folder's.

    Examples
    --------
    >>> from pathlib import Path
    >>> river_name(Path("surveys/Upper Mill=2"))
    'Upper-Mill-2'
    """
    name = folder.resolve().name
    return "".join(letter if letter.isalnum() else "-" for letter in name) or "river"


def check_names(folders: Sequence[Path]) -> None:
    """Refuse two rivers whose results would go under one name.

    Raises
    ------
    FleetRefused
        With both folders.
    """
    seen: dict[str, Path] = {}
    for folder in folders:
        other = seen.setdefault(river_name(folder), folder)
        if other is not folder:
            message = (
                f"{other} and {folder} would both be called {river_name(folder)!r}; "
                "rename one folder"
            )
            raise FleetRefused(message)


def _factors(layers: Path, level_m: float) -> tuple[str, ...]:
    with StoredStack(layers, level_m=level_m) as stored:
        known = [name for name in ("speed", "substrate") if stored.knows(name)]
    return ("depth", *known)


def _made_from(survey: Survey, layers: Path, species: Sequence[Species]) -> str:
    """Return the hash of a survey's files, its layers, the species and the versions."""
    found = hashlib.sha256()
    for path in sorted(layers.glob("*.tif")):
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        found.update(f"{path.name} {digest}\n".encode())
    for told in (sorted(survey.hashes.items()), species, sorted(versions().items())):
        found.update(f"{told!r}\n".encode())
    return found.hexdigest()
