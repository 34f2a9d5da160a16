"""Everything the map shows, as plain values for the page's data block."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd

from layers.river import WGS84
from layers.stack import SAME_LEVEL_M
from pegscore.pages import palette
from pegscore.pages.board_payload import board_payload
from pegscore.pages.overlays import layers_payload
from pegscore.pages.places import LETTERS, STRUCTURE_WORDS, shown_places, words_of
from pegscore.pages.runs import runs_payload
from pegscore.pages.scores import scores_of, species_of
from pegscore.pages.shapes import shapes_of
from pegscore.pages.structures import structures_payload
from pegscore.pages.text import number, pair, plain
from pegscore.pages.tiles import tiles_payload

if TYPE_CHECKING:
    from pegscore.pages.content import MapContent


def payload_of(content: MapContent) -> dict[str, Any]:
    """Return the page's data: lists, texts and numbers only, None for unknown."""
    levels = levels_of(content)
    return {
        "river": plain(content.river_name),
        "surveyed": plain(content.survey_date),
        "edition": content.edition,
        "levels": levels,
        "start": start_of(content),
        "levelCautions": [_level_caution(content, level) for level in levels],
        "species": _species(content),
        "scores": scores_of(content, levels),
        "pegs": _pegs(content),
        "water": shapes_of(gpd.GeoSeries([content.water], crs=content.crs))[0],
        "centreline": shapes_of(gpd.GeoSeries([content.centreline], crs=content.crs))[
            0
        ],
        "places": _places(content),
        "layers": layers_payload(content.stack, levels),
        "structures": structures_payload(content, levels),
        "structureWords": STRUCTURE_WORDS,
        "runs": runs_payload(content, levels),
        "tiles": tiles_payload(content.tiles),
        "board": board_payload(content, levels),
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


def _level_caution(content: MapContent, level_m: float) -> str:
    held = content.level_cautions.items()
    return next((plain(t) for m, t in held if abs(m - level_m) < SAME_LEVEL_M), "")


def _pegs(content: MapContent) -> list[dict[str, Any]]:
    spots = content.pegs.geometry.to_crs(WGS84)
    points = zip(spots.x, spots.y, strict=True)
    swims = gpd.GeoSeries(content.pegs["swim"].array, crs=content.crs)
    shapes = shapes_of(swims)
    rows = records_of(content.pegs.reset_index(names="peg"))
    return [
        {
            "name": plain(row["peg"]),
            "at": pair(*point),
            "swim": shape,
            "blocked": row["peg"] in content.blocked,
            "cautions": [plain(t) for t in content.cautions.get(row["peg"], ())],
            **_facts(row),
            **_confidences(content, row),
        }
        for row, point, shape in zip(rows, points, shapes, strict=True)
    ]


def _facts(row: dict[str, Any]) -> dict[str, Any]:
    """Return what the survey says of a peg to anybody."""
    step_free = row["step_free"]
    return {
        "bank": plain(row["bank"]),
        "chainage": number(row["chainage_m"], 1),
        "open": bool(row["open"]),
        "step_free": None if pd.isna(step_free) else bool(step_free),
        "walk": number(row["walk_m"], 0),
    }


def _confidences(content: MapContent, row: dict[str, Any]) -> dict[str, Any]:
    """Return what only the committee's edition may hold of a peg."""
    if content.edition != "committee":
        return {"note": "", "returns": []}
    told = content.returns.get(row["peg"], ())
    return {"note": plain(row["note"]), "returns": [plain(text) for text in told]}


def _places(content: MapContent) -> list[dict[str, Any]]:
    places = shown_places(content.hazards, edition=content.edition)
    if places is None or places.empty:
        return []
    shapes = shapes_of(places.geometry)
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
