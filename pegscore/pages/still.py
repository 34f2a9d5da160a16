"""What the page shows where no script runs: a still map and the tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from pegscore.flag_words import flags_of
from pegscore.pages.payload import levels_of, records_of, start_of, title_of
from pegscore.pages.scores import species_of
from pegscore.pages.text import as_html, number

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pegscore.pages.content import MapContent

WIDTH = 1000.0
"""Width of the still map's own units."""

MARGIN = 40.0

MOST_ROWS = 100
"""Pegs a species in a still table: a long list is for the live page."""

HEADINGS = ("Rank", "Peg", "Score", "80 % interval", "Limited by", "Reasons")


def still_of(content: MapContent, data: dict[str, Any]) -> str:
    """Return the still part of the page as HTML, every text escaped."""
    parts = [
        f"<h1>{as_html(content.river_name)}</h1>",
        f"<p>Surveyed {as_html(content.survey_date)}. {_level_words(content)}</p>",
        still_map(data),
        _list("General cautions", content.general_cautions),
        _list("Do not fish these pegs", sorted(map(str, content.blocked))),
        _list("Dangers, rules and access", _place_lines(data)),
        _list("Cautions by peg", _caution_lines(content)),
    ]
    parts += [_species_part(content, name) for name in species_of(content)]
    return "\n".join(part for part in parts if part)


def still_map(data: dict[str, Any]) -> str:
    """Return the river and its pegs as a drawing."""
    frame = _Frame([point for ring in _outline(data) for point in ring])
    water = " ".join(frame.path(ring) + "Z" for ring in _outline(data))
    line = frame.path(data["centreline"]["parts"][0])
    pegs = [_still_peg(frame, peg, i) for i, peg in enumerate(data["pegs"])]
    lines = [
        f'<svg id="still-map" viewBox="0 0 {WIDTH:.0f} {frame.height:.0f}"',
        'role="img" aria-label="Still map of the water and its pegs">',
        '<defs><marker id="downstream" viewBox="0 0 10 10" refX="8" refY="5"',
        'markerWidth="7" markerHeight="7" orient="auto">',
        '<path d="M0 0L10 5L0 10z"/></marker></defs>',
        f'<path class="water" d="{water}"/>',
        f'<path class="flow" d="{line}" marker-end="url(#downstream)"/>',
        *pegs,
        "</svg>",
        "<p>North is up; the arrow points downstream.</p>",
    ]
    return "\n".join(lines)


class _Frame:
    """Fits positions into the drawing, in the projection of web maps."""

    def __init__(self, points: list[list[float]]) -> None:
        flat = [_mercator(point) for point in points]
        self.left = min(x for x, _ in flat)
        self.top = max(y for _, y in flat)
        wide = max(x for x, _ in flat) - self.left
        high = self.top - min(y for _, y in flat)
        self.scale = (WIDTH - 2 * MARGIN) / max(wide, high, 1e-12)
        self.height = high * self.scale + 2 * MARGIN

    def place(self, point: list[float]) -> tuple[float, float]:
        x, y = _mercator(point)
        across = MARGIN + (x - self.left) * self.scale
        return across, MARGIN + (self.top - y) * self.scale

    def path(self, points: list[list[float]]) -> str:
        steps = (f"{x:.1f} {y:.1f}" for x, y in map(self.place, points))
        return "M" + "L".join(steps)


def _mercator(point: list[float]) -> tuple[float, float]:
    latitude, longitude = map(math.radians, point)
    return longitude, math.asinh(math.tan(latitude))


def _outline(data: dict[str, Any]) -> list[list[list[float]]]:
    return [ring for part in data["water"]["parts"] for ring in part]


def _still_peg(frame: _Frame, peg: dict[str, Any], position: int) -> str:
    x, y = frame.place(peg["at"])
    kind = "peg blocked" if peg["blocked"] else "peg"
    cross = f'<path d="M{x - 6:.1f} {y - 6:.1f}l12 12m0 -12l-12 12"/>'
    return (
        f'<g class="{kind}" data-position="{position}">'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9"/>'
        f"{cross if peg['blocked'] else ''}"
        f'<text x="{x + 12:.1f}" y="{y + 5:.1f}">{as_html(peg["name"])}</text></g>'
    )


def _level_words(content: MapContent) -> str:
    if content.ranking.empty:
        return "No peg has been scored."
    level = levels_of(content)[start_of(content)]
    return f"The tables are for {level:.2f} m on the gauge board."


def _species_part(content: MapContent, name: str) -> str:
    title = as_html(title_of(content, name))
    verdict = content.verdicts.get(name, "")
    warning = f'<p class="verdict">{as_html(verdict)}</p>' if verdict else ""
    head = "".join(f'<th scope="col">{heading}</th>' for heading in HEADINGS)
    rows = "\n".join(_row(row) for row in _rows(content, name))
    return (
        f'<section class="still-species"><h2>{title}</h2>{warning}'
        f"<table><thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody></table>"
        "</section>"
    )


def _rows(content: MapContent, name: str) -> list[dict[str, Any]]:
    """Return a species' rows, best first; what is not to be fished comes last."""
    level = levels_of(content)[start_of(content)]
    table = content.ranking
    chosen = table["species"].astype(str).eq(name)
    chosen &= table["level_m"].astype(float).round(3).eq(level)
    rows = table[chosen].assign(shut=[_shut(content, p) for p in table[chosen]["peg"]])
    rows["order"] = rows["rank"].where(rows["shut"] == "")
    rows = rows.sort_values("order", kind="stable", na_position="last")
    return records_of(rows.head(MOST_ROWS))


def _shut(content: MapContent, peg: str) -> str:
    if peg in content.blocked:
        return "do not fish"
    return "" if content.pegs.at[peg, "open"] else "closed"


def _row(row: dict[str, Any]) -> str:
    if row["shut"]:
        cells = ["–", row["peg"], row["shut"], "–", "–", row["why"]]
    else:
        low, high = (_score_words(row[name], "–") for name in ("low", "high"))
        cells = [
            _rank_words(row["rank"]),
            row["peg"],
            _score_words(row["score"]),
            f"{low} to {high}",
            row["limiting"],
            " ".join([str(row["why"]), *(flag.sentence for flag in flags_of(row))]),
        ]
    return "<tr>" + "".join(f"<td>{as_html(cell)}</td>" for cell in cells) + "</tr>"


def _rank_words(rank: object) -> str:
    held = number(rank, 0)
    return "–" if held is None else f"{held:.0f}"


def _score_words(value: object, unknown: str = "not scored") -> str:
    held = number(value, 2)
    return unknown if held is None else f"{held:.2f}"


def _place_lines(data: dict[str, Any]) -> list[str]:
    return [
        f"{place['words']} – {place['name']}" if place["name"] else place["words"]
        for place in data["places"]
    ]


def _caution_lines(content: MapContent) -> list[str]:
    return [
        f"Peg {peg}: {' '.join(sentences)}"
        for peg, sentences in content.cautions.items()
        if sentences
    ]


def _list(heading: str, lines: Iterable[str]) -> str:
    items = "".join(f"<li>{as_html(line)}</li>" for line in lines)
    return f"<section><h2>{heading}</h2><ul>{items}</ul></section>" if items else ""
