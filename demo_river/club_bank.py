"""The banks: numbered pegs and what stands, hangs or grows beside the water."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from shapely import LineString, Point, Polygon

if TYPE_CHECKING:
    from collections.abc import Iterator

    from river_truth import Truth
    from shapely.geometry.base import BaseGeometry

LEFT, RIGHT = 1, -1
MISSING = {6, 17, 18, 29, 44, 53}  # numbers that floods and fences took
CLOSED = {22: "closed: the bank slipped"}
PARKING = ((RIGHT, 150.0), (LEFT, 1090.0))  # bank, chainage
NO_FISHING = (1160.0, 1200.0)  # the footbridge and the gauge
LINE_S = 605.0  # the overhead line crosses here
STEP_FREE = {RIGHT: (110.0, 235.0), LEFT: (1015.0, 1150.0)}
NOTES = {
    3: "cut into the reeds, one angler",
    9: "tall grass behind",
    13: "shingle beach",
    19: "opposite the island",
    20: "under the big willow",
    26: "two steps down to the water",
    35: "long cast over the shelf",
    48: "boggy after rain",
    57: "platform with a rail",
    66: "fast water close in",
}


def numbered_pegs(truth: Truth, rng: np.random.Generator) -> pd.DataFrame:
    """Return the pegs, upstream to downstream on the right bank, then the left."""
    rows, number = [], 0
    for side in (RIGHT, LEFT):
        for s in _peg_chainages(truth, rng):
            number += 1
            if number not in MISSING:
                rows.append(_peg(truth, number, side, s, rng.uniform(1.1, 1.9)))
    return pd.DataFrame(rows)


def _peg_chainages(truth: Truth, rng: np.random.Generator) -> list[float]:
    """Return uneven places 24 to 60 m apart that keep off the footbridge."""
    places, s = [], rng.uniform(20, 40)
    while s < truth.length_m - 25:
        if not NO_FISHING[0] - 12 < s < NO_FISHING[1] + 12:
            places.append(round(s, 1))
        s += float(rng.choice([24, 30, 36, 46, 60])) + rng.uniform(-4, 4)
    return places


def _peg(
    truth: Truth, number: int, side: int, s: float, out_m: float
) -> dict[str, object]:
    x, y = beside(truth, s, side, out_m)
    parking = next(at for bank, at in PARKING if bank == side)
    low, high = STEP_FREE[side]
    note = CLOSED.get(number, NOTES.get(number, ""))
    if abs(s - LINE_S) < 30:
        note = "overhead line close by: no long poles"
    return {
        "peg": number,
        "x": round(x, 2),
        "y": round(y, 2),
        "bank": "left" if side == LEFT else "right",
        "open": "no" if number in CLOSED else "yes",
        "step_free": "yes" if low <= s <= high else "no",
        "walk_m": int(round((40 + 1.08 * abs(s - parking)) / 5) * 5),
        "note": note,
    }


def beside(truth: Truth, s: float, side: int, out_m: float) -> tuple[float, float]:
    """Return the point ``out_m`` outside the water's edge; negative is in the water."""
    x, y = truth.to_world(s, side * (float(truth.half_width_m(s)) + out_m))
    return float(x), float(y)


def _along(
    truth: Truth, side: int, start: float, end: float, out_m: float
) -> LineString:
    s = np.linspace(start, end, max(2, int(abs(end - start) / 15) + 1))
    return LineString([beside(truth, float(at), side, out_m) for at in s])


def _strip(
    truth: Truth, side: int, start: float, end: float, outs: tuple[float, float]
) -> Polygon:
    """Return the area along a bank between two distances from the water's edge."""
    far = _along(truth, side, start, end, outs[0]).coords
    near = _along(truth, side, start, end, outs[1]).coords
    return Polygon([*far, *reversed(near)])


def _area(truth: Truth, s: tuple[float, float], n: tuple[float, float]) -> Polygon:
    """Return a bed or zone in the water, by chainage and offset."""
    along = np.linspace(*s, 13)
    shore = [np.c_[truth.to_world(along, offset)] for offset in n]
    return Polygon(np.vstack([shore[0], shore[1][::-1]]))


def _across(truth: Truth, s: float, out_m: float, skew_m: float = 0.0) -> LineString:
    reach = float(truth.half_width_m(s)) + out_m
    return LineString(
        [truth.to_world(s - skew_m, -reach), truth.to_world(s + skew_m, reach)]
    )


Place = tuple[dict[str, str], "BaseGeometry"]


def all_places(truth: Truth) -> list[Place]:
    """Return every place with its properties."""
    return [*_dangers(truth), *_rules(truth), *_ways(truth), *_growth(truth)]


def _place(kind: str, shape: BaseGeometry, name: str = "", days: str = "") -> Place:
    properties = {"kind": kind} | ({"name": name} if name else {})
    if days:
        start, _, end = days.partition("/")
        properties |= {"from": start, "to": end}
    return properties, shape


def _dangers(truth: Truth) -> Iterator[Place]:
    line = _across(truth, LINE_S, 45, skew_m=12)
    yield _place("overhead_line", line, "11 kV line over both banks")
    yield _place("weir", _across(truth, -35, 2), "Old Fulling Weir, upstream")
    yield _place("soft_bank", _strip(truth, LEFT, 395, 470, (6, 0.5)), "boggy hollow")
    yield _place("steep_bank", _along(truth, RIGHT, 890, 985, 1.0), "Cutting Bank")
    yield _place("steep_bank", _along(truth, LEFT, 540, 588, 1.0))
    yield _place("deep_margin", _strip(truth, RIGHT, 880, 960, (0, -3)), "Cutting Pool")
    yield _place("deep_margin", _strip(truth, LEFT, 1285, 1350, (0, -3)))


def _rules(truth: Truth) -> Iterator[Place]:
    width = float(truth.half_width_m(np.mean(NO_FISHING))) + 6
    bridge = _area(truth, NO_FISHING, (-width, width))
    yield _place("no_fishing", bridge, "footbridge and gauge board")
    riffle = _area(truth, (1030, 1075), (-9, 9))
    yield _place("spawning", riffle, "Long Riffle gravels", "03-15/06-30")


def _ways(truth: Truth) -> Iterator[Place]:
    end = truth.length_m - 10
    yield _place("path", _along(truth, RIGHT, 10, end, 7.0), "right bank path")
    yield _place("path", _along(truth, LEFT, 260, end, 7.0), "left bank path")
    for side, name in ((RIGHT, "top car park"), (LEFT, "bottom car park")):
        low, high = STEP_FREE[side]
        level_path = _along(truth, side, low - 10, high + 10, 4.5)
        yield _place("step_free_path", level_path, f"level path from the {name}")
        parking = next(at for bank, at in PARKING if bank == side)
        yield _place("parking", Point(beside(truth, parking, side, 40)), name)


def _growth(truth: Truth) -> Iterator[Place]:
    trees = (95, 268, 432, 515, 702, 871, 938, 1112, 1266, 1418)
    for i, s in enumerate(trees):
        yield _place("tree", Point(beside(truth, s, RIGHT if i % 2 else LEFT, 2.5)))
    for s, side in ((188, RIGHT), (548, LEFT), (792, LEFT), (925, RIGHT), (1330, LEFT)):
        yield _place("snag", Point(beside(truth, s, side, -3.0)), "sunken limb")
    for middle, offset, long, wide in truth.weed_beds:
        bed = _area(
            truth,
            (middle - long, middle + long),
            (offset - wide, offset + wide),
        )
        yield _place("weed", bed, "", "05-01/10-31")
