"""A ranking as people and machines read it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pegscore import screen
from pegscore.conditions import verdict
from pegscore.levels import level_caution
from pegscore.reasons import explain
from pegscore.units import is_unknown, length, pace

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd

    from pegscore.conditions import Conditions
    from pegscore.species import Species
    from pegscore.training import Outcome
    from pegscore.workflow import Run

TRAINED = (
    "Ordered by the club's own returns too; the score is the expected catch rate as a "
    "share of the best peg's."
)

RULES_SHOWN = ("concordance", "ndcg5", "regret5", "tau_b")
"""The measures of a test that are shown on the screen."""

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
        "level_caution": level_caution(run.survey, conditions.level_m) or None,
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


def show_outcome(outcome: Outcome, title: str) -> None:
    """Print how one species' ranker did beside simpler rules."""
    kept = "trained ranking kept" if outcome.trained else "preferences stay"
    screen.show(
        f"{title}: {kept}; {outcome.visits} visits, {outcome.positive} with fish"
    )
    screen.show(f"- {outcome.reason}")
    for test in outcome.tests:
        header = [test.scheme, *RULES_SHOWN]
        rows = [
            [str(name), *(_score_text(row[measure]) for measure in RULES_SHOWN)]
            for name, row in test.table.iterrows()
        ]
        screen.show(screen.text_table(header, rows))
    screen.show()


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
    stretched = level_caution(run.survey, conditions.level_m)
    for note in filter(None, (stretched, *told.notes)):
        screen.show(f"- {note}")
    if told.vetoes:
        return
    screen.show(_evidence(species))
    rows = _rows_of(ranking, name, top)
    if (rows["basis"] == "ranker").any():
        screen.show(TRAINED)
    screen.show(_ranking_text(rows, units))
    for row in rows.head(REASONS_SHOWN).to_dict("records"):
        screen.show(f"Peg {row['peg']}: {_why(species, row, units)}")
    screen.show(f"80 %: where the score may lie, given {_errors(rows)}.")


def _ranking_text(rows: gpd.GeoDataFrame, units: str) -> str:
    header = ["rank", "peg", "score", "80 %", "depth", "pace", "bottom", "held back by"]
    return screen.text_table(
        header,
        (
            [
                "-" if is_unknown(row["rank"]) else str(row["rank"]),
                screen.shortened(row["peg"]),
                _score_text(row["score"]),
                f"{_score_text(row['low'])}-{_score_text(row['high'])}",
                length(row["depth_m"], units),
                pace(row["speed_m_s"], units),
                screen.main_bottom(row),
                held_back(row),
            ]
            for row in rows.to_dict("records")
        ),
    )


def held_back(row: Mapping[Any, Any]) -> str:
    """Name what limits a scored peg; a peg without a score says why it has none.

    Examples
    --------
    >>> held_back({"score": 0.4, "limiting": "pace", "why": "..."})
    'pace'
    >>> held_back({"score": 0.9, "limiting": "", "suit_speed": float("nan")})
    'nothing known'
    """
    if is_unknown(row["score"]):
        return str(row["why"])
    suits = [row.get(f"suit_{name}") for name in ("depth", "speed", "substrate")]
    nothing = "nothing known" if any(map(is_unknown, suits)) else "nothing much"
    return str(row["limiting"]) or nothing


def _why(species: Species, row: dict[Any, Any], units: str) -> str:
    """Tell the reasons in the reader's units; a peg without a score keeps its own."""
    if is_unknown(row["score"]):
        return str(row["why"])
    return f"{explain(species, row, units=units).why} {row['returns']}".strip()


def _errors(rows: gpd.GeoDataFrame) -> str:
    trained = (rows["basis"] == "ranker").any()
    return "how little the returns tell" if trained else "the survey's own errors"


def _evidence(species: Species) -> str:
    if species.evidence == "club":
        return "The club's own preferences."
    return f"Published preferences, evidence grade {species.evidence} of A-C."


def _score_text(score: float) -> str:
    return "n/a" if is_unknown(score) else f"{score:.2f}"
