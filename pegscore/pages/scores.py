"""The rankings as the page reads them: packed columns by species and level."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from layers.river import SUBSTRATES
from pegscore.flag_words import FLAG_COLUMNS, flags_of
from pegscore.pages.packed import Columns, Once, Reasons
from pegscore.pages.text import plain

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from pegscore.flag_words import Flag
    from pegscore.pages.content import MapContent

FACTOR_WORDS = {"depth": "Depth", "speed": "Pace", "substrate": "Bottom"}
"""What the page, like the reasons, calls the factors it knows."""

STEPS = {"rank": 1.0, "score": 1e-4, "water": 1e-2}
"""The step of each kind of column: whole ranks, a score's ten-thousandths, centimetres.

A score in coarser steps, rounded to the two decimals shown, would be rounded twice
and differ from the ranking's now and then.
"""


def scores_of(content: MapContent, levels: list[float]) -> dict[str, Any]:
    """Return every table of the ranking, aligned to the pegs, and what it shares.

    ``tables`` holds one a species and level; its numbers are numbers of columns,
    its ``basis``, ``limiting`` and ``why`` columns of numbers of texts, and the
    ``leans`` texts of the numbers of ``flags``: a tag and a sentence each.
    """
    packing = _Packing(content.ranking)
    held = _by_species_and_level(content.ranking)
    empty, pegs = content.ranking.iloc[:0], content.pegs.index
    tables = [
        [packing.table(held.get((name, level), empty), pegs) for level in levels]
        for name in species_of(content)
    ]
    return {
        "factors": factors_of(content.ranking),
        "classes": classes_of(content.ranking),
        "steps": STEPS,
        "tables": tables,
        "columns": packing.columns.texts,
        "words": packing.words.texts,
        "flags": [list(flag) for flag in packing.flags.texts],
        "wordings": packing.reasons.wordings.texts,
        "reasons": packing.reasons.texts,
    }


def species_of(content: MapContent) -> list[str]:
    """Return the species of the ranking, in its order."""
    return list(dict.fromkeys(content.ranking["species"].astype(str)))


def factors_of(ranking: pd.DataFrame) -> list[list[str]]:
    """Return the name of each scored factor and what the page calls it."""
    names = [c.removeprefix("suit_") for c in ranking.columns if c.startswith("suit_")]
    return [
        [name, FACTOR_WORDS.get(name, name.replace("_", " ").capitalize())]
        for name in names
    ]


def classes_of(ranking: pd.DataFrame) -> list[str]:
    """Return the classes of the bottom that the ranking tells shares of."""
    return [name for name in SUBSTRATES if f"{name}_share" in ranking.columns]


def _by_species_and_level(
    ranking: pd.DataFrame,
) -> dict[tuple[str, float], pd.DataFrame]:
    level = ranking["level_m"].astype(float).round(3)
    groups = ranking.groupby([ranking["species"].astype(str), level], sort=False)
    return {(str(name), float(at)): rows for (name, at), rows in groups}  # type: ignore[arg-type]  # pandas calls keys hashable


class _Packing:
    """What all tables share, and one table after another."""

    def __init__(self, ranking: pd.DataFrame) -> None:
        self.columns, self.reasons = Columns(), Reasons()
        self.words: Once[str] = Once()
        self.flags: Once[Flag] = Once()
        self._suits = [f"suit_{name}" for name, _ in factors_of(ranking)]
        self._shares = [f"{name}_share" for name in classes_of(ranking)]

    def table(self, rows: pd.DataFrame, pegs: pd.Index[Any]) -> dict[str, Any]:
        table = rows.set_index("peg").reindex(pegs)
        return {
            "rank": self._number(table["rank"], "rank"),
            **{k: self._number(table[k], "score") for k in ("score", "low", "high")},
            "depth": self._number(table["depth_m"], "water"),
            "speed": self._number(table["speed_m_s"], "water"),
            "suits": [self._number(table[name], "score") for name in self._suits],
            "shares": [self._number(table[name], "water") for name in self._shares],
            **{k: self._text(table[k]) for k in ("basis", "limiting")},
            "leans": self._text(self._leans(table)),
            "why": self.columns.add_numbers(
                [self.reasons.add_reason(text) for text in table["why"]], step=1
            ),
        }

    def _leans(self, table: pd.DataFrame) -> list[str]:
        rows = table.reindex(columns=["score", *FLAG_COLUMNS]).to_dict("records")
        return [" ".join(str(self.flags.add(f)) for f in flags_of(row)) for row in rows]

    def _number(self, values: pd.Series[Any], kind: str) -> int:
        numbers = values.astype(float).to_numpy()
        return self.columns.add_numbers(numbers, step=STEPS[kind])

    def _text(self, texts: Iterable[Any]) -> int:
        numbers = [self.words.add(plain(text)) for text in texts]
        return self.columns.add_numbers(numbers, step=1)
