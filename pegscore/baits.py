"""Baits, and how fast each sinks: computed, or as the club's bucket test says."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, field
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from layers.problems import nearest_name
from pegscore.baits_file import check_baits
from pegscore.errors import BaitsRefused, BaitUnknown
from pegscore.own_toml import TomlFault, read_own_toml
from pegscore.settling import (
    USUAL_TEMP_C,
    settling_speed,
    water_density,
    water_viscosity,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

USUAL_BAITS = ("maggot", "caster", "hemp", "sweetcorn")
"""What a sheet shows when nobody chose; common practice, no source."""

TIMING = 0.10
"""A single bucket test's range, as a share of its speed; our proposal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """A bait's settling speed, m/s: an 80 % range and its middle.

    Parameters
    ----------
    low_m_s, usual_m_s, high_m_s : float
        ``NaN`` for a bait that floats. ``low_m_s`` alone is ``NaN`` where the
        lightest of it may float.
    basis : str
        ``bucket test``, ``computed`` or ``floats``.
    """

    low_m_s: float
    usual_m_s: float
    high_m_s: float
    basis: str

    @property
    def floats(self) -> bool:
        """True for a bait that stays on the surface."""
        return self.basis == "floats"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bait:
    """One bait as ``baits.toml`` describes it.

    Parameters
    ----------
    name, title : str
        The name on the command line and the one for people.
    size_mm, density_kg_m3 : tuple of float
        Least, usual, most; empty where a bucket test or ``floats`` makes them idle.
    drag : tuple of float
        The range of the formula's ``C2``.
    sink_depth_m : float
        Of the bucket test; ``NaN`` without one.
    sink_seconds : tuple of float
        Each timing of the bucket test.
    is_floating : bool
        Told to float.
    own : bool
        True where the club's file says something of it.
    """

    name: str
    title: str
    size_mm: tuple[float, ...] = ()
    density_kg_m3: tuple[float, ...] = ()
    drag: tuple[float, ...] = ()
    sink_depth_m: float = math.nan
    sink_seconds: tuple[float, ...] = ()
    is_floating: bool = False
    own: bool = False
    marks: Mapping[str, str] = field(default_factory=dict)

    def settling(self, temp_c: float = USUAL_TEMP_C) -> Settling:
        """Return how fast it sinks in water of a temperature, Celsius.

        Examples
        --------
        A metre in 12 to 15 seconds:

        >>> timed = Bait(name="corn", title="corn", sink_depth_m=1.2,
        ...              sink_seconds=(12.0, 15.0, 13.0))
        >>> settling = timed.settling()
        >>> settling.low_m_s, round(settling.usual_m_s, 4), settling.high_m_s
        (0.08, 0.0923, 0.1)
        """
        if self.sink_seconds:
            return self._timed()
        if self.is_floating:
            return Settling(
                low_m_s=math.nan, usual_m_s=math.nan, high_m_s=math.nan, basis="floats"
            )
        return self._computed(temp_c)

    def _timed(self) -> Settling:
        speeds = self.sink_depth_m / np.asarray(self.sink_seconds)
        usual = float(self.sink_depth_m / np.median(self.sink_seconds))
        low, high = float(speeds.min()), float(speeds.max())
        if len(self.sink_seconds) == 1:
            low, high = usual * (1 - TIMING), usual * (1 + TIMING)
        return Settling(
            low_m_s=low, usual_m_s=usual, high_m_s=high, basis="bucket test"
        )

    def _computed(self, temp_c: float) -> Settling:
        """Move one cause at a time and add the shifts' squares, in logarithms."""
        usual = self._speed(temp_c, size=1, density=1)
        if math.isnan(usual):
            return Settling(
                low_m_s=math.nan, usual_m_s=math.nan, high_m_s=math.nan, basis="floats"
            )
        ends = []
        for end in (0, 2):
            moved = (
                self._speed(temp_c, size=end, density=1),
                self._speed(temp_c, size=1, density=end),
                self._speed(temp_c, size=1, density=1, drag=self.drag[-1 + end // 2]),
            )
            shift = math.hypot(*(math.log(speed / usual) for speed in moved))
            ends.append(usual * math.exp(shift * (end - 1)))
        return Settling(
            low_m_s=ends[0], usual_m_s=usual, high_m_s=ends[1], basis="computed"
        )

    def _speed(
        self, temp_c: float, *, size: int, density: int, drag: float | None = None
    ) -> float:
        excess = self.density_kg_m3[density] / float(water_density(temp_c)) - 1.0
        middle = math.sqrt(self.drag[0] * self.drag[-1])
        return float(
            settling_speed(
                self.size_mm[size] / 1000.0,
                excess,
                drag=middle if drag is None else drag,
                viscosity_m2_s=water_viscosity(temp_c),
            )
        )


def read_baits(survey_folder: Path | None = None) -> dict[str, Bait]:
    """Return the shipped baits and, over them, those of a survey folder.

    Raises
    ------
    BaitsRefused
        If a file cannot be used, with every fault.

    Examples
    --------
    >>> read_baits()["crust"].settling().floats
    True
    """
    text = files("pegscore").joinpath("data", "baits.toml").read_text("utf-8")
    told: dict[str, dict[str, Any]] = tomllib.loads(text)
    own = {} if survey_folder is None else _own(survey_folder)
    for name, block in own.items():
        told[name] = {**told.get(name, {}), **block} if _is_block(block) else block
    check_baits(told, own=frozenset(own))
    return {name: _bait(name, block, own=name in own) for name, block in told.items()}


def find_baits(baits: Mapping[str, Bait], wanted: Sequence[str] | None) -> list[Bait]:
    """Return the baits of some names; the usual ones if none are given.

    Raises
    ------
    BaitUnknown
        If a name is not among them, with the nearest that is.
    """
    names = [name.strip().lower() for name in wanted or USUAL_BAITS]
    for name in names:
        if name not in baits:
            near = nearest_name(name, baits)
            hint = f"did you mean {near!r}? " if near else ""
            message = (
                f"there is no bait {name!r}; {hint}the baits are {', '.join(baits)}; "
                "add your own in baits.toml of the survey folder"
            )
            raise BaitUnknown(message)
    return [baits[name] for name in dict.fromkeys(names)]


def _own(folder: Path) -> dict[str, Any]:
    path = folder / "baits.toml"
    if not path.is_file():
        return {}
    try:
        return read_own_toml(path, folder)
    except TomlFault as fault:
        message = f"{path.name}: {fault}"
        raise BaitsRefused(message) from fault


def _is_block(block: object) -> bool:
    return isinstance(block, dict)


def _bait(name: str, block: Mapping[str, Any], *, own: bool) -> Bait:
    seconds = block.get("sink_seconds", ())
    return Bait(
        name=name,
        title=str(block.get("title", name.replace("_", " "))),
        size_mm=tuple(map(float, block.get("size_mm", ()))),
        density_kg_m3=tuple(map(float, block.get("density_kg_m3", ()))),
        drag=tuple(map(float, block.get("drag", ()))),
        sink_depth_m=float(block.get("sink_depth_m", math.nan)),
        sink_seconds=tuple(seconds)
        if isinstance(seconds, list)
        else (seconds,)
        if seconds
        else (),
        is_floating=bool(block.get("floats", False)),
        own=own,
        marks=dict(block.get("marks", {})),
    )
