"""Why a swim scores as it does, in plain words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from layers.river import SUBSTRATES
from pegscore.units import Units, is_unknown, length, pace, share, span

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pegscore.species import Species

NOTHING_HOLDS_BACK = 0.95
"""A factor at or above this is not called limiting; our proposal."""

GOOD = 0.75
"""A factor at or above this speaks for a peg, below it against; our proposal."""

SHOWN_DECIMALS = 2
"""Means are set against a preferred range as they are shown."""

WORDS = {"suit_depth": "depth", "suit_speed": "pace", "suit_substrate": "bottom"}
"""What the factors are called to people, in the order they are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What holds a peg back and what speaks for and against it.

    ``limiting`` is ``depth``, ``pace`` or ``bottom``; empty when every known
    factor stands near its best. ``why`` joins the sentences, for first.
    """

    limiting: str
    why: str
    pros: tuple[str, ...]
    cons: tuple[str, ...]


def explain(
    species: Species, row: Mapping[str, Any], *, units: Units | str = "metric"
) -> Explanation:
    """Explain one peg's score to its reader.

    Parameters
    ----------
    species : Species
        Whose preferences scored it.
    row : mapping
        The swim's features (``pegscore.features.swim_features``) and the mean
        suitability by factor, ``suit_depth``, ``suit_speed`` and
        ``suit_substrate``; ``NaN`` is unknown and said so.
    units : {'metric', 'imperial'}
        How lengths and speeds are written.

    Examples
    --------
    >>> from pegscore.species import read_species
    >>> told = explain(read_species()["barbel"], {
    ...     "depth_m": 0.6, "depth_p10_m": 0.5, "depth_p90_m": 0.7,
    ...     "speed_m_s": 0.5, "speed_p10_m_s": 0.45, "speed_p90_m_s": 0.55,
    ...     "gravel_share": 0.7, "sand_share": 0.3, "suit_depth": 0.75,
    ...     "suit_speed": 1.0, "suit_substrate": 0.79})
    >>> told.limiting
    'depth'
    """
    sentences = {
        "suit_depth": _depth(species, row, units),
        "suit_speed": _pace(species, row, units),
        "suit_substrate": _bottom(row),
    }
    known = {name: row[name] for name in WORDS if not is_unknown(row.get(name))}
    pros = [sentences[name] for name in _sorted(known) if known[name] >= GOOD]
    cons = [sentences[name] for name in reversed(_sorted(known)) if known[name] < GOOD]
    unknown = [f"{WORDS[name]} not surveyed" for name in WORDS if name not in known]
    limiting = _limiting(known)
    return Explanation(
        limiting=limiting,
        why=_joined(limiting, pros, cons, unknown),
        pros=tuple(pros),
        cons=tuple(cons),
    )


def _sorted(known: Mapping[str, float]) -> list[str]:
    """Return the factors, best first; of equals the one told first."""
    return sorted(known, key=lambda name: -known[name])


def _limiting(known: Mapping[str, float]) -> str:
    if not known:
        return ""
    worst = min(known, key=lambda name: known[name])
    return "" if known[worst] >= NOTHING_HOLDS_BACK else WORDS[worst]


def _joined(limiting: str, pros: list[str], cons: list[str], unknown: list[str]) -> str:
    parts = []
    if pros:
        parts.append("For: " + "; ".join(pros) + ".")
    if cons:
        parts.append("Against: " + "; ".join(cons) + ".")
    if limiting:
        parts.append(f"Held back most by {limiting}.")
    if unknown:
        parts.append(", ".join(unknown).capitalize() + ": it could be better or worse.")
    return " ".join(parts)


def _depth(species: Species, row: Mapping[str, Any], units: Units | str) -> str:
    wanted = species.depth_m.preferred
    text = f"depth {length(row.get('depth_m', float('nan')), units)}"
    text += _range(row, "depth_p10_m", "depth_p90_m", units, "m")
    return text + _against(
        row.get("depth_m"), wanted, units, "m", ("shallower", "deeper")
    )


def _pace(species: Species, row: Mapping[str, Any], units: Units | str) -> str:
    wanted = species.speed_m_s.preferred
    text = f"pace {pace(row.get('speed_m_s', float('nan')), units)}"
    text += _range(row, "speed_p10_m_s", "speed_p90_m_s", units, "m/s")
    return text + _against(
        row.get("speed_m_s"), wanted, units, "m/s", ("slower", "faster")
    )


def _range(
    row: Mapping[str, Any], low: str, high: str, units: Units | str, unit: str
) -> str:
    """Say how much a quantity varies within the swim, where that is known."""
    if is_unknown(row.get(low)) or is_unknown(row.get(high)):
        return ""
    return f" (mostly {span(row[low], row[high], units, unit)})"


def _against(
    value: float | None,
    wanted: tuple[float, float],
    units: Units | str,
    unit: str,
    words: tuple[str, str],
) -> str:
    """Set a mean against the preferred range."""
    if value is None or is_unknown(value):
        return ""
    range_ = span(*wanted, units, unit)
    value = round(value, SHOWN_DECIMALS)  # as it is read, so that no word belies it
    if value < wanted[0]:
        return f", {words[0]} than the preferred {range_}"
    if value > wanted[1]:
        return f", {words[1]} than the preferred {range_}"
    return f", within the preferred {range_}"


def _bottom(row: Mapping[str, Any]) -> str:
    """Name the commonest bottom and, if it is no majority, the next."""
    shares = {
        name: float(row[f"{name}_share"])
        for name in SUBSTRATES
        if not is_unknown(row.get(f"{name}_share"))
    }
    ordered = sorted(shares, key=lambda name: -shares[name])[:2]
    half = 0.5
    if ordered and shares[ordered[0]] > half:
        ordered = ordered[:1]
    return "bottom " + " and ".join(f"{name} {share(shares[name])}" for name in ordered)
