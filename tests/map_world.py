"""A small invented river for the map's tests; every text of it can be hostile."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS
from shapely import LineString, Point, Polygon

from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.board import Board
from pegscore.candidates import Candidates
from pegscore.pages.content import MapContent

CRS_HERE = CRS("EPSG:27700")
LEVELS_M = (0.6, 1.2)
SPECIES = {"barbel": "Barbel", "roach": "Roach", "chub": "Chub"}
CLASSES = ("silt", "sand", "gravel", "cobble")


def world(*, pegs: int = 12, say=lambda text: text, **changes) -> MapContent:
    """Return a map's content; ``say`` rewrites every text that files could hold."""
    line = line_of(500.0)
    water = Polygon(line.buffer(12, cap_style="flat").exterior)
    names = [say(f"{i + 1}") for i in range(pegs)]
    frame = pegs_along(line, names, say)
    content = {
        "river_name": say("Invented Water, lower meadow"),
        "crs": CRS_HERE,
        "water": water,
        "centreline": line,
        "pegs": frame,
        "ranking": ranking_of(names, say, SPECIES, LEVELS_M),
        "species_titles": {key: say(title) for key, title in SPECIES.items()},
        "stack": stack_of(water, say, LEVELS_M),
        "cautions": {names[2]: (say("Deep water at the edge."),)},
        "blocked": frozenset({names[4]}),
        "general_cautions": (say("Wear a life jacket when wading."),),
        "hazards": hazards_of(line, say),
        "verdicts": {"roach": say("Closed season until 15 June.")},
        "survey_date": "2026-06-20",
    }
    return MapContent(**{**content, **changes})


def large_world(*, pegs: int, species: int, levels: int, **changes) -> MapContent:
    """Return a river of a peg every 20 m of both banks, with reasons as long as real.

    Every number in a reason differs, so that nothing packs better than it would.
    """
    line = line_of(10.0 * pegs)
    water = Polygon(line.buffer(12, cap_style="flat").exterior)
    names = [f"{i + 1}" for i in range(pegs)]
    titles = {f"fish_{i}": f"Invented fish {i}" for i in range(species)}
    levels_m = tuple(round(0.4 + 0.2 * i, 2) for i in range(levels))
    content = world(
        pegs=pegs,
        water=water,
        centreline=line,
        species_titles=titles,
        ranking=ranking_of(names, long_reason, titles, levels_m),
        stack=stack_of(water, str, levels_m),
        hazards=None,
    )
    return replace(content, pegs=pegs_along(line, names, str), **changes)


def board_for(content: MapContent, *, places: int, say=lambda text: text) -> Board:
    """Return a board: half the places on each bank, every tenth excluded.

    A place faces the one opposite and its two neighbours; scores rise from 0 at the
    upper end to 1 at the lower one, for every species alike.
    """
    half = places // 2
    line, levels_m = content.centreline, sorted(set(content.ranking["level_m"]))
    along = np.linspace(5, line.length - 5, half)
    spots = [line.interpolate(s) for s in along]
    seats = [Point(p.x, p.y + side) for side in (13.0, -13.0) for p in spots]
    table = gpd.GeoDataFrame(
        {
            "bank": ["left"] * half + ["right"] * half,
            "chainage_m": np.tile(along, 2),
            "step_free": [i % 2 == 0 for i in range(2 * half)],
            "excluded": [
                say("steep bank") if i % 10 == 9 else "" for i in range(2 * half)
            ],
        },
        geometry=seats,
        crs=content.crs,
    )
    kinds = tuple(dict.fromkeys(content.ranking["species"]))
    scores = np.tile(np.linspace(0, 1, half), 2).astype(np.float32)
    shape = (len(levels_m), len(kinds))
    pairs = [
        (i, half + k) for i in range(half) for k in (i - 1, i, i + 1) if 0 <= k < half
    ]
    return Board(
        candidates=Candidates(
            table=table,
            scores=np.broadcast_to(scores, (*shape, 2 * half)),
            factors=np.broadcast_to(scores, (*shape, 3, 2 * half)),
            species=kinds,
            levels_m=tuple(levels_m),
        ),
        clearance_m=np.abs(np.array([p.x for p in seats]) - 620250.0),
        facing=np.array(pairs),
        spacing_m=15.0,
    )


def long_reason(_: str, draw=np.random.default_rng(7)) -> str:
    depth, pace, share = draw.uniform(0.2, 3), draw.uniform(0.1, 1), draw.uniform(9, 99)
    low, high = 0.8 * depth, 1.2 * depth
    return (
        f"For: pace {pace:.2f} m/s (mostly {0.8 * pace:.2f}–{1.2 * pace:.2f} m/s), on "
        f"average within the preferred 0.4–0.9 m/s. Against: depth {depth:.2f} m "
        f"(mostly {low:.2f}–{high:.2f} m), shallower than the preferred 0.8–2.5 m; "
        f"bottom gravel {share:.0f} %. Held back most by bottom."
    )


def line_of(length_m: float) -> LineString:
    """A meandering line far out at sea, inside the system's area of use."""
    count = int(length_m / 5) + 1
    return LineString(
        [(620000 + 5 * i, 500000 + 60 * np.sin(i / 14)) for i in range(count)]
    )


def pegs_along(line: LineString, names: list[str], say) -> gpd.GeoDataFrame:
    chainage_m = np.linspace(30, line.length - 30, len(names))
    places = [line.interpolate(s) for s in chainage_m]
    sides = [13.0 if i % 2 == 0 else -13.0 for i in range(len(names))]
    return gpd.GeoDataFrame(
        {
            "bank": ["left" if side > 0 else "right" for side in sides],
            "chainage_m": chainage_m,
            "open": [i != 7 for i in range(len(names))],
            "step_free": [[True, False, None][i % 3] for i in range(len(names))],
            "walk_m": [np.nan if i == 1 else 40.0 * i for i in range(len(names))],
            "note": [say("the key is under the stone") for _ in names],
            "swim": gpd.array.from_shapely([p.buffer(14, 4) for p in places], CRS_HERE),
        },
        geometry=[
            Point(p.x, p.y + side) for p, side in zip(places, sides, strict=True)
        ],
        index=pd.Index(names, name="peg"),
        crs=CRS_HERE,
    )


def ranking_of(names: list[str], say, species, levels_m) -> pd.DataFrame:
    return pd.concat(
        [
            scores_of(key, turn, level_m, names, say)
            for level_m in levels_m
            for turn, key in enumerate(species)
        ],
        ignore_index=True,
    )


def scores_of(
    key: str, turn: float, level_m: float, names: list[str], say
) -> pd.DataFrame:
    turn += 2 * level_m
    at = np.arange(len(names))
    score = 0.5 + 0.45 * np.sin(at * 1.7 + turn)
    score[9 % len(names)] = np.nan
    table = pd.DataFrame(
        {
            "species": key,
            "level_m": level_m,
            "peg": names,
            "score": score,
            "low": np.clip(score - 0.12, 0, 1),
            "high": np.clip(score + 0.1, 0, 1),
            "basis": "preference",
            "limiting": np.where(at % 2 == 0, "pace", "depth"),
            "why": [say(f"{1 + i / 10:.1f} m over gravel, steady pace.") for i in at],
            "depth_m": level_m + 0.1 * at,
            "speed_m_s": 0.1 + 0.05 * at,
            "suit_depth": np.clip(score + 0.2, 0, 1),
            "suit_speed": np.clip(score + 0.05, 0, 1),
            "suit_substrate": np.clip(1 - score / 4, 0, 1),
            "wet_share": 1.0,
            "silt_share": 0.1,
            "sand_share": 0.2,
            "gravel_share": 0.6,
            "cobble_share": 0.1,
        }
    )
    table["rank"] = table["score"].rank(ascending=False)
    table.loc[table["score"].isna(), "why"] = say("The water there was not surveyed.")
    return table.sort_values("rank", na_position="last")


def stack_of(water: Polygon, say, levels_m) -> Stack:
    grid = Grid.covering(Bounds.of(water).grown(4), cell_m=2.0, crs=CRS_HERE)
    inside = grid.mask_of(water)
    easting, northing = grid.centres()
    along, across = np.meshgrid(easting - 620000, northing - 500000)
    off = np.abs(across - 60 * np.sin(along / 70)) / 12
    hole = 1.6 + 0.9 * np.sin(along / 45)
    depth = np.where(inside, np.clip(hole * (1 - 0.7 * off**2), 0.05, None), np.nan)
    speed = np.where(inside, np.clip(0.9 / hole * (1 - 0.8 * off**2), 0, 1.6), np.nan)
    wave = np.sin(along / 60)
    raw = np.stack([0.8 - wave, 0.6 + 0 * wave, 1 + wave, 0.4 + wave**2])
    shares = np.where(inside & (along < 420), raw / raw.sum(axis=0), np.nan)
    by_level = {
        level: {
            "depth": (depth + level - 0.6).astype(np.float32),
            "speed": (speed * (1 + (level - 0.6) / 2)).astype(np.float32),
        }
        for level in levels_m
    }
    fixed = dict(zip(CLASSES, shares.astype(np.float32), strict=True))
    return Stack(
        grid=grid, fixed=fixed, by_level=by_level, notes=(say("Slope was estimated."),)
    )


def hazards_of(line: LineString, say) -> gpd.GeoDataFrame:
    over = line.interpolate(0.37, normalized=True)
    redd = line.interpolate(0.8, normalized=True)
    park = line.interpolate(0.02, normalized=True)
    return gpd.GeoDataFrame(
        {
            "kind": ["overhead_line", "spawning", "parking", "weir"],
            "name": [say("power line"), say("redd field"), say("by the gate"), None],
        },
        geometry=[
            LineString([(over.x, over.y - 60), (over.x + 15, over.y + 60)]),
            redd.buffer(10),
            Point(park.x, park.y + 45),
            Point(line.coords[-1]),
        ],
        crs=CRS_HERE,
    )
