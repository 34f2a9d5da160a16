"""Species and what they prefer: one TOML file each, shipped or the club's own.

A club puts files of the same form into ``species/`` of its survey folder. A file
with a new name adds a species; one with a shipped name replaces those blocks that
it gives and keeps the rest. Of ``[heat]`` it replaces line by line, so that a club
with a limit of its own does not lose the veto unless it says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from layers.problems import nearest_name
from layers.river import SUBSTRATES
from pegscore.curves import Curve, CurvePoint
from pegscore.errors import SpeciesUnknown
from pegscore.modifiers import Modifier, read_modifiers
from pegscore.own_toml import TomlFault, read_own_toml
from pegscore.species_file import check_species

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    MonthDay = tuple[int, int]

AS_SURVEYED: Mapping[str, tuple[str, ...]] = {
    "clay": ("clay_mud",),
    "gravel": ("fine_gravel", "coarse_gravel"),
}
"""Which classes of a species file a surveyed class stands for, by their plain mean.

Where not named, the same class. A survey says only ``gravel``; taking the mean of
fine and coarse is our proposal, without a source.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """What one species prefers, each value with its mark in the file.

    Parameters
    ----------
    name, title, scientific : str
        The key on the command line, the name for people, the Latin name.
    evidence : str
        ``A`` adult depth and speed seen in a source, ``B`` at least one number
        seen, ``C`` only words seen; ``club`` for a club's own species.
    depth_m, speed_m_s : Curve
        Suitability by local water depth (m) and depth-averaged speed (m/s).
    substrate : mapping of str to float
        Suitability of a bottom wholly of one class, for every class of
        ``layers.river.SUBSTRATES``.
    temperature_c : Curve or None
        Feeding by water temperature (°C); shown, never part of the score.
    hot_above_c : float
        Above this it should not be fished for; ``NaN`` if nothing is published.
    hot_is_veto : bool
        True where published advice says not to fish above ``hot_above_c``.
    season_closed : pair of (month, day) or None
        Default first and last closed day, inclusive; None where it varies.
    season_note : str
        What to tell people about that default.
    oxygen : str
        The template of ``data/oxygen.toml`` that tells what it needs; empty if not
        known.
    modifiers : tuple of Modifier
        What light, cold and clarity do to it, beside the score.
    """

    name: str
    title: str
    scientific: str
    evidence: str
    depth_m: Curve
    speed_m_s: Curve
    substrate: Mapping[str, float]
    temperature_c: Curve | None = None
    hot_above_c: float = math.nan
    hot_is_veto: bool = False
    season_closed: tuple[MonthDay, MonthDay] | None = None
    season_note: str = ""
    substrate_marks: Mapping[str, str] = field(default_factory=dict)
    oxygen: str = ""
    modifiers: tuple[Modifier, ...] = ()


def read_species(survey_folder: Path | None = None) -> dict[str, Species]:
    """Read the shipped species and, on top, those of a survey folder.

    Returns
    -------
    dict of str to Species
        By name, in alphabetical order.

    Raises
    ------
    SpeciesRefused
        If a file cannot be used, with every fault of every file.

    Examples
    --------
    >>> barbel = read_species()["barbel"]
    >>> barbel.depth_m.preferred, barbel.substrate["cobble"]
    ((0.8, 2.5), 1.0)
    """
    shipped = shipped_folder()
    told = {path.stem: _told(path, shipped) for path in _files(shipped)}
    own: dict[str, dict[str, Any]] = {}
    if survey_folder is not None:
        files_ = _files(survey_folder / "species")
        own = {path.stem: _told(path, survey_folder) for path in files_}
    for name, blocks in own.items():
        told[name] = _overridden(told.get(name, {}), blocks)
    check_species(told, own=frozenset(own))
    return {name: _species(name, told[name]) for name in sorted(told)}


def shipped_folder() -> Path:
    """Return the folder of the species files that come with the package."""
    return Path(str(files("pegscore"))) / "data" / "species"


def find_species(species: Mapping[str, Species], wanted: str) -> list[str]:
    """Return the names that a person's text asks for.

    Parameters
    ----------
    species : mapping
        As ``read_species`` returns it.
    wanted : str
        A name or title, several with commas between, or ``all``.

    Raises
    ------
    SpeciesUnknown
        With the nearest name, or all there are.

    Examples
    --------
    >>> find_species(read_species(), "Brown trout, chub")
    ['brown_trout', 'chub']
    """
    if wanted.strip().lower() == "all":
        return list(species)
    by_title = {_key(kind.title): name for name, kind in species.items()}
    found = []
    for text in wanted.split(","):
        name = by_title.get(_key(text), _key(text))
        if name not in species:
            raise SpeciesUnknown(_unknown(text.strip(), species))
        if name not in found:
            found.append(name)
    return found


def _key(text: str) -> str:
    return "_".join(text.lower().replace("-", " ").replace("_", " ").split())


def _unknown(text: str, names: Iterable[str]) -> str:
    near = nearest_name(text, names)
    hint = f"did you mean {near!r}?" if near else f"choose from {', '.join(names)}"
    return f"there is no species file for {text!r}; {hint}"


def _overridden(shipped: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """Lay a club's blocks over the shipped ones.

    A club's own depth or speed is no longer what the shipped evidence grade is
    about.
    """
    told = {**shipped, **own}
    heats = [shipped.get("heat"), own.get("heat")]
    if all(isinstance(heat, dict) for heat in heats):
        told["heat"] = {**shipped["heat"], **own["heat"]}
    if "evidence" not in own and (not shipped or {"depth_m", "speed_m_s"} & set(own)):
        told["evidence"] = "club"
    return told


def _files(folder: Path) -> list[Path]:
    """Return the species files of a folder; what a computer hides is none of them."""
    return sorted(path for path in folder.glob("*.toml") if path.name[0] != ".")


def _told(path: Path, folder: Path) -> dict[str, Any]:
    """Read a file's blocks; of a file that cannot be read, keep why."""
    try:
        return read_own_toml(path, folder)
    except TomlFault as fault:
        return {"fault": str(fault)}


def _species(name: str, told: Mapping[str, Any]) -> Species:
    heat = told.get("heat", {})
    season = told.get("season", {})
    temperature = told.get("temperature_c")
    return Species(
        name=name,
        title=str(told["title"]),
        scientific=str(told.get("scientific", "")),
        evidence=str(told.get("evidence", "club")),
        depth_m=_curve(told["depth_m"]),
        speed_m_s=_curve(told["speed_m_s"]),
        substrate={kind: _surveyed(told["substrate"], kind) for kind in SUBSTRATES},
        temperature_c=None if temperature is None else _curve(temperature),
        hot_above_c=float(heat.get("above_c", math.nan)),
        hot_is_veto=bool(heat.get("veto", False)),
        season_closed=_closed(season.get("closed")),
        season_note=str(season.get("note", "")),
        substrate_marks={
            kind: value[1] if isinstance(value, list) else "club"
            for kind, value in told["substrate"].items()
            if kind != "sources"
        },
        oxygen=str(told.get("limits", {}).get("oxygen", "")),
        modifiers=read_modifiers(told.get("modifier", ())),
    )


def _curve(block: Mapping[str, Any]) -> Curve:
    points = tuple(
        CurvePoint(float(x), float(y), str(mark[0]) if mark else "club")
        for x, y, *mark in block["points"]
    )
    return Curve(points, tuple(block.get("sources", ())))


def _surveyed(block: Mapping[str, Any], kind: str) -> float:
    """Return the suitability of a class as the survey names it."""
    values = [block[name] for name in AS_SURVEYED.get(kind, (kind,))]
    numbers = [value[0] if isinstance(value, list) else value for value in values]
    return float(sum(numbers) / len(numbers))


def _closed(days: list[str] | None) -> tuple[MonthDay, MonthDay] | None:
    if days is None:
        return None
    first, last = (tuple(map(int, day.split("-"))) for day in days)
    return (first[0], first[1]), (last[0], last[1])
