"""Warm water and thin oxygen: when fish should be left alone, and how they feed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pegscore.oxygen import (
    MOST_FISH_DIE_BELOW_MG_L,
    OxygenNeed,
    oxygen_needs,
    saturation_mg_l,
)
from pegscore.wording import one_line

if TYPE_CHECKING:
    from pegscore.conditions import Conditions
    from pegscore.curves import Curve
    from pegscore.species import Species

ADVISED_AGAINST = {"barbel": 21.0, "chub": 21.0, "pike": 21.0}
"""Above which water, °C, these should not be fished for: Environment Agency
hot-weather guidance as reported by Angling Times, 2020 (``ea_hot``)."""

DAWN_OXYGEN_C = 18.0
"""From here on the low oxygen of first light (``at_dry``) is worth a word; the limit
is our own proposal."""


def heat(species: Species, temp_c: float | None) -> tuple[list[str], list[str]]:
    """Return vetoes and notes of hot water; strictly above the limit."""
    limit_c, name = species.hot_above_c, plain_name(species)
    if temp_c is None:
        unchecked = f"No water temperature given: {limit_c:g} °C, above which"
        told = f"{unchecked} {name} should be left alone, was not checked."
        return [], [] if math.isnan(limit_c) else [told]
    if not temp_c > limit_c:
        return [], []
    if species.hot_is_veto:
        veto = f"{_advice(species)}: do not fish for {name} above {limit_c:g} °C"
        return [f"{veto}; the water is at {temp_c:g} °C"], []
    note = (
        f"Water at {temp_c:g} °C is above {limit_c:g} °C, where {name} suffer (for the "
        "evidence see the mark in the species file): better not to fish for them."
    )
    return [], [note]


def _advice(species: Species) -> str:
    """Name who advises; a club's own limit is not put into the agency's mouth."""
    if ADVISED_AGAINST.get(species.name) == species.hot_above_c:
        return "Environment Agency advice as reported in 2020 [source ea_hot]"
    return "advice in the species file"


def feeding(species: Species, temp_c: float | None) -> tuple[float, list[str]]:
    """Return the feeding curve's value and the note that tells it."""
    curve = species.temperature_c
    if temp_c is None or curve is None:
        return math.nan, []
    factor = float(curve(temp_c))
    note = (
        f"Water at {temp_c:g} °C: feeding suitability {factor:.2f} of 1 (marks "
        f"{', '.join(_marks_at(curve, temp_c))}; sources in the species file); not "
        "part of the score."
    )
    return factor, [note]


def _marks_at(curve: Curve, x: float) -> list[str]:
    """Return the marks of the points that a value is drawn between."""
    below = [point for point in curve.points if point.x <= x]
    above = [point for point in curve.points if point.x >= x]
    return sorted({point.mark for point in (*below[-1:], *above[:1])})


def oxygen(
    species: Species, conditions: Conditions
) -> tuple[list[str], list[str], float]:
    """Return vetoes and notes on oxygen, and the curve's value at the one measured.

    Measured below what the species' template calls stress, or below what most fish
    survive, it is a veto: our proposal, for the fish's sake, on thresholds mostly
    from memory. Saturation is only what the water could hold, never what it holds.
    """
    need, measured = oxygen_needs().get(species.oxygen), conditions.oxygen_mg_l
    if measured is None:
        return [], _unmeasured(need, conditions), math.nan
    limit = max(need.stress_mg_l if need else 0.0, MOST_FISH_DIE_BELOW_MG_L)
    if measured < limit:
        veto = (
            f"oxygen measured at {measured:g} mg/l: below {limit:g} mg/l "
            f"{plain_name(species)} are under stress (from memory of published work); "
            "leave the fish alone, and report fish in distress"
        )
        return [veto], [], math.nan
    factor = float(need.curve(measured)) if need else math.nan
    return [], _measured(measured, conditions.water_temp_c), factor


def _measured(measured: float, temp_c: float | None) -> list[str]:
    if temp_c is None:
        return [f"Oxygen measured at {measured:g} mg/l."]
    full = float(saturation_mg_l(temp_c))
    note = (
        f"Oxygen measured at {measured:g} mg/l, {100 * measured / full:.0f} % of what "
        f"water at {temp_c:g} °C holds in balance with air ({full:.1f} mg/l)."
    )
    return [note]


def _unmeasured(need: OxygenNeed | None, conditions: Conditions) -> list[str]:
    """Say what warm water cannot hold, and when it holds least."""
    temp_c, notes = conditions.water_temp_c, []
    if temp_c is None:
        return []
    full = float(saturation_mg_l(temp_c))
    if need is not None and full < need.optimum_mg_l:
        notes.append(
            f"Water at {temp_c:g} °C holds only {full:.1f} mg/l of oxygen in balance "
            f"with air at sea level, under the {need.optimum_mg_l:g} mg/l this fish "
            "does best with; not measured here."
        )
    light = conditions.light
    if temp_c >= DAWN_OXYGEN_C and light is not None and light.phase in _LEAST:
        notes.append("Oxygen is lowest at first light [source at_dry]: measure first.")
    return notes


_LEAST = ("night", "dawn")


def plain_name(species: Species) -> str:
    """Return the species' name as it stands within a sentence."""
    return one_line(species.title).lower()
