"""Everything the map shows, as plain values for the page's data block."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd

from layers.river import SUBSTRATES
from pegscore.pages import palette
from pegscore.pages.overlays import overlays_of
from pegscore.pages.places import LETTERS, shown_places, words_of
from pegscore.pages.text import number, pair, plain

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from pegscore.pages.map import MapContent
    from pegscore.pages.overlays import Overlay

WGS84 = "EPSG:4326"

FACTOR_WORDS = {"depth": "Depth", "speed": "Pace", "substrate": "Bottom"}
"""What the page, like the reasons, calls the factors it knows."""

SIMPLIFIED_M = 0.1
"""Outlines lose corners finer than this."""


def payload_of(content: MapContent) -> dict[str, Any]:
    """Return the page's data: lists, texts and numbers only, None for unknown."""
    levels = levels_of(content)
    words: dict[str, int] = {}
    return {
        "river": plain(content.river_name),
        "surveyed": plain(content.survey_date),
        "edition": content.edition,
        "levels": levels,
        "start": start_of(content),
        "species": _species(content),
        "factors": _factors(content.ranking),
        "classes": _classes(content.ranking),
        "pegs": _pegs(content),
        "rankings": _rankings(content, levels, words),
        "words": list(words),
        "water": _shapes(gpd.GeoSeries([content.water], crs=content.crs))[0],
        "centreline": _shapes(gpd.GeoSeries([content.centreline], crs=content.crs))[0],
        "places": _places(content),
        "overlays": [_overlay(o, levels) for o in overlays_of(content.stack, levels)],
        "bands": [[c, palette.ink_on(c)] for c in palette.SCORE],
        "cautions": [plain(text) for text in content.general_cautions],
        "notes": [plain(text) for text in content.stack.notes],
    }


def levels_of(content: MapContent) -> list[float]:
    """Return the ranking's levels, or the stack's if nothing is ranked.

    Lowest first, to the millimetre.
    """
    held = content.ranking["level_m"]
    levels = content.stack.levels_m if held.empty else held
    return sorted({round(float(level), 3) for level in levels})


def start_of(content: MapContent) -> int:
    """Return the position of the level that the map opens at."""
    levels = levels_of(content)
    wanted = content.start_level_m
    if wanted is None:
        wanted = float([*content.ranking["level_m"], *levels, 0.0][0])
    return min(range(len(levels)), key=lambda i: abs(levels[i] - wanted), default=0)


def species_of(content: MapContent) -> list[str]:
    """Return the species of the ranking, in its order."""
    return list(dict.fromkeys(content.ranking["species"].astype(str)))


def title_of(content: MapContent, species: str) -> str:
    """Return what a species is called on the page."""
    return plain(content.species_titles.get(species, species))


def records_of(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return a table's rows as mappings by column name."""
    names = [str(name) for name in table.columns]
    rows = table.itertuples(index=False, name=None)
    return [dict(zip(names, row, strict=True)) for row in rows]


def _species(content: MapContent) -> list[dict[str, str]]:
    return [
        {
            "title": title_of(content, name),
            "verdict": plain(content.verdicts.get(name, "")),
        }
        for name in species_of(content)
    ]


def _factors(ranking: pd.DataFrame) -> list[list[str]]:
    names = [c.removeprefix("suit_") for c in ranking.columns if c.startswith("suit_")]
    return [
        [name, FACTOR_WORDS.get(name, name.replace("_", " ").capitalize())]
        for name in names
    ]


def _classes(ranking: pd.DataFrame) -> list[str]:
    return [name for name in SUBSTRATES if f"{name}_share" in ranking.columns]


def _pegs(content: MapContent) -> list[dict[str, Any]]:
    spots = content.pegs.geometry.to_crs(WGS84)
    points = zip(spots.x, spots.y, strict=True)
    swims = gpd.GeoSeries(content.pegs["swim"].array, crs=content.crs)
    shapes = _shapes(swims)
    rows = records_of(content.pegs.reset_index(names="peg"))
    return [
        {
            "name": plain(row["peg"]),
            "at": pair(*point),
            "swim": shape,
            "blocked": row["peg"] in content.blocked,
            "cautions": [plain(t) for t in content.cautions.get(row["peg"], ())],
            **_facts(row, edition=content.edition),
        }
        for row, point, shape in zip(rows, points, shapes, strict=True)
    ]


def _facts(row: dict[str, Any], *, edition: str) -> dict[str, Any]:
    """Return what the survey says of a peg; its note is the committee's alone."""
    step_free = row["step_free"]
    return {
        "bank": plain(row["bank"]),
        "chainage": number(row["chainage_m"], 1),
        "open": bool(row["open"]),
        "step_free": None if pd.isna(step_free) else bool(step_free),
        "walk": number(row["walk_m"], 0),
        "note": plain(row["note"]) if edition == "committee" else "",
    }


def _rankings(
    content: MapContent, levels: list[float], words: dict[str, int]
) -> list[list[dict[str, Any]]]:
    """Return one table of columns a species and level, aligned to the pegs.

    Texts are numbers into ``words``, which grows as they are met.
    """
    ranking = content.ranking.assign(
        species=content.ranking["species"].astype(str),
        level=content.ranking["level_m"].astype(float).round(3),
    )
    held = dict(list(ranking.groupby(["species", "level"], sort=False)))
    empty = ranking.iloc[:0]
    pegs = content.pegs.index
    return [
        [_columns(held.get((name, level), empty), pegs, words) for level in levels]
        for name in species_of(content)
    ]


def _columns(
    rows: pd.DataFrame, pegs: pd.Index[Any], words: dict[str, int]
) -> dict[str, Any]:
    table = rows.set_index("peg").reindex(pegs)
    suits = [c for c in table.columns if c.startswith("suit_")]
    shares = [f"{name}_share" for name in _classes(table)]
    return {
        "rank": _numbers(table["rank"], 0),
        **{name: _numbers(table[name], 3) for name in ("score", "low", "high")},
        "depth": _numbers(table["depth_m"], 2),
        "speed": _numbers(table["speed_m_s"], 2),
        "suits": [_numbers(table[name], 3) for name in suits],
        "shares": [_numbers(table[name], 2) for name in shares],
        **{k: _numbered(table[k], words) for k in ("basis", "limiting", "why")},
    }


def _numbered(texts: pd.Series[Any], words: dict[str, int]) -> list[int]:
    return [words.setdefault(plain(text), len(words)) for text in texts]


def _numbers(values: pd.Series[Any], decimals: int) -> list[float | None]:
    return [number(v, decimals) for v in pd.to_numeric(values).astype(float)]


def _places(content: MapContent) -> list[dict[str, Any]]:
    places = shown_places(content.hazards, edition=content.edition)
    if places is None or places.empty:
        return []
    shapes = _shapes(places.geometry)
    rows = records_of(places.drop(columns=places.geometry.name))
    return [
        {**_place(row), "shape": shape} for row, shape in zip(rows, shapes, strict=True)
    ]


def _place(row: dict[str, Any]) -> dict[str, str]:
    words, group = words_of(str(row["kind"]))
    first, last = plain(row.get("from_day")), plain(row.get("to_day"))
    return {
        "words": plain(words),
        "group": group,
        "letter": LETTERS.get(str(row["kind"]), "i"),
        "name": plain(row.get("name")),
        "when": f"from {first} to {last}, month-day" if first and last else "",
    }


def _overlay(overlay: Overlay, levels: list[float]) -> dict[str, Any]:
    south, west, north, east = next(iter(overlay.pictures.values())).corners
    addresses = list(dict.fromkeys(p.address for p in overlay.pictures.values()))
    held = [overlay.pictures.get(level) for level in levels]
    return {
        "name": overlay.name,
        "title": overlay.title,
        "unit": overlay.unit,
        "colours": list(overlay.colours),
        "edges": list(overlay.edges),
        "words": list(overlay.words),
        "corners": [[south, west], [north, east]],
        "pictures": addresses,
        "at": [None if p is None else addresses.index(p.address) for p in held],
    }


def _shapes(shapes: gpd.GeoSeries) -> list[dict[str, Any] | None]:
    """Return outlines in WGS 84 as kind and (latitude, longitude) lists."""
    fine = shapes.simplify(SIMPLIFIED_M).to_crs(WGS84)
    blank = fine.isna() | fine.is_empty
    return [None if no else _shape(s) for s, no in zip(fine, blank, strict=True)]


def _shape(shape: BaseGeometry) -> dict[str, Any]:
    parts = list(getattr(shape, "geoms", [shape]))
    kind = {"Point": "point", "LineString": "line"}.get(parts[0].geom_type, "area")
    return {"kind": kind, "parts": [_part(part) for part in parts]}


def _part(part: BaseGeometry) -> list[Any]:
    if part.geom_type == "Polygon":
        rings = [part.exterior, *part.interiors]  # type: ignore[attr-defined]
        return [[pair(*xy[:2]) for xy in ring.coords] for ring in rings]
    points = [pair(*xy[:2]) for xy in part.coords]
    return points[0] if part.geom_type == "Point" else points
