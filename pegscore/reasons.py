"""Why a swim scores as it does, in plain words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from layers.river import SUBSTRATES
from pegscore.units import METRES_PER_FOOT, Units, is_unknown, length, pace, share, span

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pegscore.species import Species

NOTHING_HOLDS_BACK = 0.95
"""A factor at or above this is not called limiting; our proposal."""

GOOD = 0.75
"""A factor at or above this speaks for a peg, below it against; our proposal."""

SHOWN_DECIMALS = {"metric": 2, "imperial": 1}
"""Means are set against a preferred range as both are shown."""

WHOLE = 0.95
"""A share of a swim from here on is told as all of it; our proposal."""

TOLD = 2
"""How many reasons for, and how many against, are told: the strongest."""

WORDS = {"suit_depth": "depth", "suit_speed": "pace", "suit_substrate": "bottom"}
"""What the factors are called to people, in the order they are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What holds a peg back and what speaks for and against it.

    ``limiting`` is ``depth``, ``pace`` or ``bottom``; empty when every known
    factor stands near its best; the bottom is measured against the species' own best
    bottom, as a species that takes any alike is not held back by it. ``why`` joins
    the two strongest for and the two strongest against, for first.
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
    known = _known(species, row)
    pros = [sentences[name] for name in _sorted(known) if known[name] >= GOOD]
    cons = [sentences[name] for name in reversed(_sorted(known)) if known[name] < GOOD]
    unknown = [f"{WORDS[name]} not surveyed" for name in WORDS if name not in known]
    limiting = _limiting(known)
    return Explanation(
        limiting=limiting,
        why=_joined(
            _held_back(limiting, sentences, [*pros[:TOLD], *cons[:TOLD]]),
            pros[:TOLD],
            cons[:TOLD],
            [*_unknown(unknown), *_partly(row)],
        ),
        pros=tuple(pros),
        cons=tuple(cons),
    )


def _known(species: Species, row: Mapping[str, Any]) -> dict[str, float]:
    """Return the known factors, the bottom as a share of the species' best."""
    known = {name: float(row[name]) for name in WORDS if not is_unknown(row.get(name))}
    best = max(species.substrate.values())
    if "suit_substrate" in known and best > 0:
        known["suit_substrate"] /= best
    return known


def _unknown(told: list[str]) -> list[str]:
    text = ", ".join(told).capitalize()
    return [f"{text}: it could be better or worse."] if told else []


def _partly(row: Mapping[str, Any]) -> list[str]:
    """Say what part of the swim is dry or was not surveyed."""
    told = []
    wet, bottom = row.get("wet_share"), row.get("substrate_known_share")
    dry = row.get("dry_share") or 0.0
    if wet is not None and wet < WHOLE:
        rest = f": {share(dry)} is dry at this level" if dry > 1 - WHOLE else ""
        told.append(f"Only {share(wet)} of the swim is known to hold water{rest}.")
    if bottom is not None and 0 < bottom < WHOLE:
        told.append(f"Only {share(bottom)} of the bottom was surveyed.")
    return told


def _sorted(known: Mapping[str, float]) -> list[str]:
    """Return the factors, best first; of equals the one told first."""
    return sorted(known, key=lambda name: -known[name])


def _limiting(known: Mapping[str, float]) -> str:
    if not known:
        return ""
    worst = min(known, key=lambda name: known[name])
    return "" if known[worst] >= NOTHING_HOLDS_BACK else WORDS[worst]


def _joined(
    held_back: list[str], pros: list[str], cons: list[str], rest: list[str]
) -> str:
    parts = []
    if pros:
        parts.append("For: " + "; ".join(pros) + ".")
    if cons:
        parts.append("Against: " + "; ".join(cons) + ".")
    return " ".join([*parts, *held_back, *rest])


def _held_back(
    limiting: str, sentences: Mapping[str, str], told: list[str]
) -> list[str]:
    """Name what limits, with its number where no reason told it yet."""
    if not limiting:
        return []
    sentence = next(sentences[name] for name in WORDS if WORDS[name] == limiting)
    number = "" if sentence in told else sentence.removeprefix(limiting)
    return [f"Held back most by {limiting}{number}."]


def _depth(species: Species, row: Mapping[str, Any], units: Units | str) -> str:
    mean, *tenths = (row.get(f"depth_{part}m") for part in ("", "p10_", "p90_"))
    text = f"depth {length(math.nan if mean is None else mean, units)}"
    wanted = species.depth_m.preferred
    words = ("m", *_by_how_much(row, "suit_depth", "shallower", "deeper"))
    return text + _against(mean, tenths, wanted, units, words)


def _pace(species: Species, row: Mapping[str, Any], units: Units | str) -> str:
    mean, *tenths = (row.get(f"speed_{part}m_s") for part in ("", "p10_", "p90_"))
    text = f"pace {pace(math.nan if mean is None else mean, units)}"
    wanted = species.speed_m_s.preferred
    words = ("m/s", *_by_how_much(row, "suit_speed", "slower", "faster"))
    return text + _against(mean, tenths, wanted, units, words)


def _by_how_much(
    row: Mapping[str, Any], factor: str, less: str, more: str
) -> tuple[str, str]:
    """Return how water outside the preferred is called where it still does well."""
    suits: Any = row.get(factor)
    near = not is_unknown(suits) and float(suits) >= GOOD
    return (f"a little {less}", f"a little {more}") if near else (less, more)


def _against(
    mean: float | None,
    tenths: list[float | None],
    wanted: tuple[float, float],
    units: Units | str,
    words: tuple[str, str, str],
) -> str:
    """Set a mean, and a swim that varies, against the preferred range."""
    if mean is None or is_unknown(mean):
        return ""
    unit, less, more = words
    shown, low, high = (_as_shown(value, units) for value in (mean, *wanted))
    text, preferred = "", f"the preferred {span(*wanted, units, unit)}"
    ends = [end for end in tenths if end is not None]
    varies = len(ends) == len(tenths) and (
        _as_shown(ends[0], units) < low or _as_shown(ends[1], units) > high
    )
    if varies:
        text = f" (mostly {span(ends[0], ends[1], units, unit)})"
    if shown < low:
        return f"{text}, {less} than {preferred}"
    if shown > high:
        return f"{text}, {more} than {preferred}"
    return f"{text}, {'on average ' if varies else ''}within {preferred}"


def _as_shown(value: float, units: Units | str) -> float:
    """Return a number as it is read, so that no word belies it."""
    scale = METRES_PER_FOOT if units == "imperial" else 1.0
    return round(value / scale, SHOWN_DECIMALS[units])


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
