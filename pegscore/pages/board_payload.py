"""The planning board as the page reads it: places in millimetres, scores in a byte."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np

from layers.river import WGS84
from pegscore.pages.packed import Once, as_base64, steps_of
from pegscore.pages.scores import factors_of, species_of
from pegscore.pages.text import plain

if TYPE_CHECKING:
    import geopandas as gpd

    from pegscore.board import Board
    from pegscore.pages.content import MapContent

SCORE_STEP = 0.005
"""What the board tells apart: a byte has 254 steps."""

DEGREE_STEPS = 100_000_000
"""A coordinate's steps, about a millimetre: layouts are checked to centimetres."""


def board_payload(content: MapContent, levels: list[float]) -> dict[str, Any] | None:
    """Return the board of the committee's edition, None in any other.

    ``at`` holds latitude and longitude in steps of 1e-8 degrees, each the difference
    from the one before; ``scores[species][level]`` and ``factors`` likewise are
    base64 of one byte a place, ``(n - 1)`` steps each, 0 unknown.
    """
    board = content.board
    if board is None or content.edition != "committee" or not len(board.candidates):
        return None
    table, words = board.candidates.table, Once[str]()
    words.add("")
    clearance = np.nan_to_num(np.minimum(board.clearance_m, 1e6) * 10, nan=-1)
    return {
        "at": _degrees(table),
        "metres": _metres(table),
        "seats": {"at": _degrees(content.pegs), "metres": _metres(content.pegs)},
        "bank": "".join(str(bank)[:1] for bank in table["bank"]),
        "chainage": [round(float(m), 1) for m in table["chainage_m"]],
        "stepFree": "".join("1" if free else "0" for free in table["step_free"]),
        "excluded": [words.add(plain(text)) for text in table["excluded"]],
        "words": words.texts,
        "clearance": [int(dm) for dm in np.rint(clearance)],
        "facing": _runs(board),
        "spacing": board.spacing_m,
        "step": SCORE_STEP,
        **_scores(content, board, levels),
    }


def _scores(
    content: MapContent, board: Board, levels: list[float]
) -> dict[str, list[Any]]:
    """Return scores by species and level, factors by species, level and factor."""
    found = board.candidates
    at = {round(level, 3): i for i, level in enumerate(found.levels_m)}
    named = {name: i for i, name in enumerate(found.factor_names)}
    columns = [named[name] for name, _ in factors_of(content.ranking) if name in named]
    scores, factors = [], []
    for name in species_of(content):
        kind = found.species.index(name)
        rows = [at[level] for level in levels]
        scores.append([_byte(found.scores[row, kind]) for row in rows])
        factors.append(
            [[_byte(found.factors[row, kind, c]) for c in columns] for row in rows]
        )
    return {"scores": scores, "factors": factors}


def _byte(values: np.ndarray[Any, Any]) -> str:
    return as_base64(steps_of(values, step=SCORE_STEP, kind="uint8"))


def _degrees(seats: gpd.GeoDataFrame) -> list[list[int]]:
    spots = seats.geometry.to_crs(WGS84)
    return [_differences(np.asarray(xy) * DEGREE_STEPS) for xy in (spots.y, spots.x)]


def _metres(seats: gpd.GeoDataFrame) -> list[list[int]]:
    """Return easting and northing in millimetres, as differences."""
    spots = seats.geometry
    return [_differences(np.asarray(xy) * 1000) for xy in (spots.x, spots.y)]


def _differences(values: np.ndarray[Any, Any]) -> list[int]:
    whole = np.rint(values).astype(np.int64)
    return [int(step) for step in np.diff(whole, prepend=0)]


def _runs(board: Board) -> list[list[int]]:
    """Return each candidate of a facing pair and runs of those it faces.

    ``[place, first, count, first, count, ...]``, the left bank's places alone.
    """
    pairs = board.facing[np.lexsort(board.facing.T[::-1])]
    found = []
    for place, group in groupby(pairs.tolist(), key=lambda pair: pair[0]):
        others = [other for _, other in group]
        breaks = [i for i in range(1, len(others)) if others[i] != others[i - 1] + 1]
        starts, ends = [0, *breaks], [*breaks, len(others)]
        runs = zip(starts, ends, strict=True)
        found.append([place, *(n for a, b in runs for n in (others[a], b - a))])
    return found
