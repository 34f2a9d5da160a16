"""A ranking as people and machines read it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pegscore import screen
from pegscore.conditions import verdict
from pegscore.reasons import explain
from pegscore.units import is_unknown, length, pace

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd

    from pegscore.conditions import Conditions
    from pegscore.species import Species
    from pegscore.workflow import Run

REASONS_SHOWN = 3
"""How many of the best pegs get their reasons spelt out on the screen."""


def ranking_record(
    run: Run,
    names: Sequence[str],
    ranking: gpd.GeoDataFrame,
    conditions: Conditions,
    *,
    top: int | None = None,
) -> dict[str, Any]:
    """Return a ranking as plain values; a vetoed species has no pegs."""
    answer: dict[str, Any] = {
        "river": run.survey.river.name,
        "level_m": conditions.level_m,
        "notes": run.stack.notes,
        "species": {},
    }
    for name in names:
        told = verdict(run.species[name], conditions, run.survey.river.season)
        rows = _rows_of(ranking, name, top) if not told.vetoes else ranking.iloc[:0]
        answer["species"][name] = {
            "vetoes": told.vetoes,
            "notes": told.notes,
            "pegs": screen.records(rows),
        }
    return answer


def _rows_of(ranking: gpd.GeoDataFrame, name: str, top: int | None) -> gpd.GeoDataFrame:
    rows = ranking[ranking["species"] == name]
    return rows if top is None else rows.head(top)


def show_ranking(
    run: Run,
    name: str,
    ranking: gpd.GeoDataFrame,
    conditions: Conditions,
    *,
    top: int | None,
    units: str,
) -> None:
    """Print one species' ranking, or why nobody should fish for it."""
    species = run.species[name]
    told = verdict(species, conditions, run.survey.river.season)
    screen.show(
        f"{species.title} at {run.survey.river.name}, board at "
        f"{length(conditions.level_m, units)}, method {conditions.method}"
    )
    for veto in told.vetoes:
        screen.show(f"NO: {veto}")
    for note in (*told.notes, *extrapolated(run.stack.notes, conditions.level_m)):
        screen.show(f"- {note}")
    if told.vetoes:
        return
    screen.show(_evidence(species))
    rows = _rows_of(ranking, name, top)
    screen.show(_ranking_text(rows, units))
    for row in rows.head(REASONS_SHOWN).to_dict("records"):
        screen.show(f"Peg {row['peg']}: {_why(species, row, units)}")
    screen.show("80 %: where the score may lie, given the survey's own errors.")


def extrapolated(notes: Sequence[str], level_m: float) -> tuple[str, ...]:
    """Return what the layers say of a level beyond those gauged or timed.

    Notes name levels in metres to the centimetre; those on other levels are left out.

    Examples
    --------
    >>> notes = ["level 1.10 m: extrapolated, for it lies outside 0.30 to 0.60 m"]
    >>> extrapolated(notes, 1.1) == tuple(notes), extrapolated(notes, 0.6)
    (True, ())
    """
    start = f"level {level_m:.2f} m: extrapolated"
    return tuple(dict.fromkeys(note for note in notes if note.startswith(start)))


def _ranking_text(rows: gpd.GeoDataFrame, units: str) -> str:
    header = ["rank", "peg", "score", "80 %", "depth", "pace", "bottom", "held back by"]
    return screen.text_table(
        header,
        (
            [
                "-" if is_unknown(row["rank"]) else str(row["rank"]),
                row["peg"],
                _score_text(row["score"]),
                f"{_score_text(row['low'])}-{_score_text(row['high'])}",
                length(row["depth_m"], units),
                pace(row["speed_m_s"], units),
                screen.main_bottom(row),
                _held_back(row),
            ]
            for row in rows.to_dict("records")
        ),
    )


def _held_back(row: dict[Any, Any]) -> str:
    """Name what limits a scored peg; a peg without a score says why it has none."""
    if is_unknown(row["score"]):
        return str(row["why"])
    return str(row["limiting"]) or "nothing much"


def _why(species: Species, row: dict[Any, Any], units: str) -> str:
    """Tell the reasons in the reader's units; a peg without a score keeps its own."""
    if is_unknown(row["score"]):
        return str(row["why"])
    return explain(species, row, units=units).why


def _evidence(species: Species) -> str:
    if species.evidence == "club":
        return "The club's own preferences."
    return f"Published preferences, evidence grade {species.evidence} of A-C."


def _score_text(score: float) -> str:
    return "n/a" if is_unknown(score) else f"{score:.2f}"
