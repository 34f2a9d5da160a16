"""Each peg's run line, depth to set, drift of feed and feeding zone, packed small.

What ``pegscore.swim.panel_record`` tells becomes whole centimetres, decimetres and
millionths of a degree: a hundred pegs at five levels weigh a few hundred kilobytes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from pyproj import Transformer

from layers.river import WGS84
from pegscore.pages.packed import Once
from pegscore.pages.text import plain

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pegscore.pages.content import MapContent

CM, DM = 100, 10
MILLIONTHS = 1_000_000


def runs_payload(content: MapContent, levels: Sequence[float]) -> dict[str, Any]:
    """Return what is told of each peg's swim at each level, None where nothing is.

    ``at[level][peg]`` holds ``line`` (latitude, longitude, metres down, depth: the
    first two in millionths of a degree, each the difference from the one before),
    ``out``, ``set``, ``feeds``, ``zone`` and numbers of ``words``.
    """
    packing = _Packing(content)
    held = {round(level, 3): runs for level, runs in content.runs.items()}
    pegs = [str(peg) for peg in content.pegs.index]
    at = [
        [packing.run(held.get(level, {}).get(peg)) for peg in pegs] for level in levels
    ]
    return {"at": at, "words": packing.words.texts}


class _Packing:
    """One record after another; texts are kept once."""

    def __init__(self, content: MapContent) -> None:
        self.words: Once[str] = Once()
        self._to_degrees = Transformer.from_crs(content.crs, WGS84, always_xy=True)

    def run(self, record: Mapping[str, Any] | None) -> dict[str, Any] | None:
        if not record or record["barred"] or not record["points"]:
            return None
        zone, depth = record["zone"], record["set_m"]
        return {
            "line": self._line(record["points"]),
            "out": _whole(record["out_m"], DM),
            "set": _each(depth, ("clear", "usual", "deepest"), CM),
            "pass": _whole(record["pass_s"], 1),
            "feeds": [self._feed(feed) for feed in record["feeds"]],
            "zone": _each(zone, ("from_m", "to_m", "shared_from_m", "shared_to_m"), DM),
            "weight": _whole(record["weight_g"], DM),
            "notes": [self.words.add(plain(note)) for note in record["notes"]],
        }

    def _line(self, points: Sequence[Sequence[float | None]]) -> list[list[int | None]]:
        table = np.array(points, dtype=float)
        longitude, latitude = self._to_degrees.transform(table[:, 0], table[:, 1])
        return [
            *(_steps(degrees) for degrees in (latitude, longitude)),
            [_whole(down, DM) for down in table[:, 2]],
            [_whole(depth, CM) for depth in table[:, 3]],
        ]

    def _feed(self, feed: Mapping[str, Any]) -> list[int | None]:
        """Return title; thrown, from, at, to in decimetres; whether it floats."""
        lengths = [feed[name] for name in ("thrown_m", "from_m", "at_m", "to_m")]
        title = self.words.add(plain(feed["title"]))
        return [title, *(_whole(m, DM) for m in lengths), int(bool(feed["floats"]))]


def _steps(degrees: np.ndarray[Any, Any]) -> list[int | None]:
    whole = np.rint(np.asarray(degrees) * MILLIONTHS).astype(np.int64)
    return [int(step) for step in np.diff(whole, prepend=0)]


def _each(
    held: Mapping[str, Any] | None, names: Sequence[str], scale: int
) -> list[int | None] | None:
    return None if held is None else [_whole(held[name], scale) for name in names]


def _whole(value: float | None, scale: int) -> int | None:
    known = value is not None and np.isfinite(value)
    return round(float(value) * scale) if known else None  # type: ignore[arg-type]  # known
