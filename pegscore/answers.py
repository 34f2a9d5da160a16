"""A ranking as people and machines read it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from pegscore import screen
from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.conditions import verdict
from pegscore.day_cautions import day_cautions, light_text
from pegscore.flag_words import BEYOND_LEVELS, flag_lines, mark_of
from pegscore.levels import level_caution
from pegscore.peg_words import peg_lines, tie_lines, walk_text
from pegscore.trained_order import ELSEWHERE
from pegscore.units import is_unknown, length, pace, wind_text
from pegscore.wording import day_text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd

    from pegscore.conditions import Conditions, Verdict
    from pegscore.species import Species
    from pegscore.training import Outcome
    from pegscore.wishes import Wishes
    from pegscore.workflow import Run

TRAINED = (
    "Ordered by the club's own returns too; the score is the expected catch rate as a "
    "share of the best peg's."
)

TRAINED_ELSEWHERE = (
    "Half by what returns of another river taught of depth, pace and bottom, half by "
    "published preferences; the score is the expected catch rate as a share of the "
    "best peg's: an order and ratios, no catch an hour, which nobody can tell from "
    "another river. That what holds there holds here is not proven."
)

TESTS_SAID = (
    "In the tables each rule ordered pegs whose returns were held back from it. "
    "Pairs: pairs of pegs in the right order less those in the wrong one, as a share; "
    "0 is no better than lot, or a rule that knows nothing of these pegs. Best 5: "
    "catch at its first five pegs, the first counting most, 1 if none were better. "
    "Lost: share of the catch that its five miss. Order: the whole list (Kendall's "
    "tau-b). New pegs: whole stretches held back; fished pegs: spells of time; new "
    "pegs, other seasons: both at once, shown here and deciding nothing."
)

RULES_SHOWN = ("concordance", "ndcg5", "regret5", "tau_b")
"""The measures of a test that are shown on the screen."""

RULE_TITLES = ("pairs", "best 5", "lost", "order")

SAME_SCORE = 0.005
"""Scores nearer than this read the same."""

SAID_ABOVE = (BEYOND_LEVELS,)
"""Flags of every peg alike, which the answer's head tells."""

TIES_SHOWN = 3
"""How many ties are spelt out; the column ``tier`` tells the others."""

REASONS_SHOWN = 3
"""How many of the best pegs get their reasons spelt out on the screen."""


def ranking_record(
    run: Run,
    names: Sequence[str],
    ranking: gpd.GeoDataFrame,
    conditions: Conditions,
    *,
    wishes: Wishes,
) -> dict[str, Any]:
    """Return a ranking as plain values; a vetoed species has no pegs."""
    answer: dict[str, Any] = {
        "river": run.survey.river.name,
        "level_m": conditions.level_m,
        "notes": run.stack.notes,
        "level_caution": level_caution(run.survey, conditions.level_m) or None,
        "light": None if conditions.light is None else asdict(conditions.light),
        "cautions": [*day_cautions(conditions), *GENERAL_CAUTIONS],
        "species": {},
    }
    for name in names:
        told = verdict(run.species[name], conditions, run.survey.river.season)
        rows, left_out = wishes.of(ranking[ranking["species"] == name])
        shown = ranking.iloc[:0] if told.vetoes else rows.head(wishes.top or len(rows))
        answer["species"][name] = {
            "vetoes": told.vetoes,
            "notes": told.notes,
            "day_factor": told.day_factor,
            "day_why": told.day_why,
            "left_out": left_out,
            "pegs": screen.records(shown),
        }
    return answer


def show_outcome(outcome: Outcome, title: str) -> None:
    """Print how one species' ranker did beside simpler rules."""
    kept = "trained ranking kept" if outcome.trained else "preferences stay"
    screen.show(
        f"{title}: {kept}; {outcome.visits} visits to pegs of known water, "
        f"{outcome.positive} with fish"
    )
    for line in outcome.reasons:
        screen.show(screen.wrapped(line, first="- "))
    for test in outcome.tests:
        header = [test.scheme, *RULE_TITLES]
        rows = [
            [str(name), *(_score_text(row[measure]) for measure in RULES_SHOWN)]
            for name, row in test.table.iterrows()
        ]
        screen.show(screen.text_table(header, rows))
    screen.show()


def show_day(run: Run, conditions: Conditions, units: str) -> None:
    """Print the river, the day and what it asks of whoever goes."""
    screen.show(screen.wrapped(f"{run.survey.river.name}: {_day(conditions, units)}"))
    if conditions.light is not None:
        screen.show(screen.wrapped(light_text(conditions.light)))
    stretched = level_caution(run.survey, conditions.level_m)
    for caution in filter(None, (stretched, *day_cautions(conditions))):
        screen.show(screen.wrapped(caution, first="! "))


def _day(conditions: Conditions, units: str) -> str:
    temp_c, wind = conditions.water_temp_c, conditions.wind_m_s
    date, clarity = conditions.date, conditions.clarity
    parts = [
        date and f"{day_text((date.month, date.day))} {date.year}",
        f"board at {length(conditions.level_m, units)}",
        f"method {conditions.method}",
        None if temp_c is None else f"water at {temp_c:g} °C",
        f"{clarity} water" if clarity else None,
        None if wind is None else f"wind {wind_text(wind, units)}",
    ]
    return ", ".join(str(part) for part in parts if part)


def show_ranking(
    run: Run,
    name: str,
    ranking: gpd.GeoDataFrame,
    conditions: Conditions,
    *,
    wishes: Wishes,
) -> None:
    """Print one species' ranking, or why nobody should fish for it.

    ``ranking`` is that of ``pegscore.day.rank_day``.
    """
    species = run.species[name]
    told = verdict(species, conditions, run.survey.river.season)
    screen.show(f"{species.title}. {_evidence(species)}")
    for veto in told.vetoes:
        screen.show(screen.wrapped(f"NO: {veto}"))
    for note in told.notes:
        screen.show(screen.wrapped(note, first="- "))
    if told.vetoes:
        return
    if told.day_why:
        screen.show(screen.wrapped(_factors_text(told), first="- "))
    everyone = ranking[ranking["species"] == name]
    wished, left_out = wishes.of(everyone)
    for line in left_out:
        screen.show(screen.wrapped(line, first="- "))
    _show_pegs(run, species, wished, everyone, wishes)


def _factors_text(told: Verdict) -> str:
    product = f", together ×{told.day_factor:.2f}" if len(told.day_why) > 1 else ""
    return f"Beside the score, for every peg alike: {', '.join(told.day_why)}{product}."


def _show_pegs(
    run: Run,
    species: Species,
    wished: gpd.GeoDataFrame,
    everyone: gpd.GeoDataFrame,
    wishes: Wishes,
) -> None:
    rows = wished if wishes.top is None else wished.head(wishes.top)
    if rows.empty:
        screen.show("No peg is left to rank.")
        return
    if (rows["basis"] == "ranker").any():
        foreign = everyone["returns"].str.contains(ELSEWHERE, regex=False).any()
        screen.show(screen.wrapped(TRAINED_ELSEWHERE if foreign else TRAINED))
    screen.show(ranking_text(rows, wishes.units))
    shown = rows.to_dict("records")
    for line in tie_lines(shown, everyone.to_dict("records"))[:TIES_SHOWN]:
        screen.show(screen.wrapped(line))
    for line in flag_lines(shown, but=SAID_ABOVE):
        screen.show(screen.wrapped(line, first="! "))
    others = len(run.stack.levels_m) - 1
    told = shown[:REASONS_SHOWN]
    barred = [row for row in shown[REASONS_SHOWN:] if is_unknown(row["score"])]
    for row in (*told, *barred):
        lines = peg_lines(species, row, wishes.units, levels=others)
        screen.show(screen.wrapped(lines[0], first=f"Peg {row['peg']}: "))
        for line in lines[1:]:
            screen.show(screen.wrapped(line, first="  ", rest="  "))
    screen.show(f"80 %: where the score may lie, given {_errors(rows)}.")
    if others < 1:
        screen.show("Only one level is built; pegscore build --level adds others.")


def ranking_text(rows: gpd.GeoDataFrame, units: str) -> str:
    """Lay pegs out as a table no wider than the screen.

    A column ``today`` appears where the day changes any score; a star after the walk
    marks a step-free way, ``~`` before it a straight line; ``!`` after the score says
    that it leans on what was not measured or published.
    """
    header = ["rank", "tier", "peg", "score", "80 %", "today", "depth", "pace"]
    header += ["bottom", "walk", "held back by"]
    table = [_cells(row, units) for row in rows.to_dict("records")]
    if not (rows["today"] - rows["score"]).abs().gt(SAME_SCORE).any():
        header, table = _without_today(header), [_without_today(row) for row in table]
    text = screen.text_table(header, table)
    return f"{text}\n* step-free" if (rows["step_free"] == "yes").any() else text


def _without_today(cells: list[str]) -> list[str]:
    return [*cells[:5], *cells[6:]]


def _cells(row: Mapping[Any, Any], units: str) -> list[str]:
    known = not is_unknown(row["score"])
    return [
        "-" if is_unknown(row["rank"]) else str(row["rank"]),
        str(row["tier"]) if known else "-",
        screen.shortened(str(row["peg"]), 12),
        f"{_score_text(row['score'])}{mark_of(row, but=SAID_ABOVE)}",
        f"{_score_text(row['low'])}-{_score_text(row['high'])}" if known else "-",
        _score_text(row["today"]),
        length(row["depth_m"], units),
        pace(row["speed_m_s"], units),
        screen.main_bottom(row),
        _walk_cell(row, units),
        held_back(row) if known else "see below",
    ]


def _walk_cell(row: Mapping[Any, Any], units: str) -> str:
    if is_unknown(row["walk_m"]):
        return "?"
    least = "~" if row["walk_basis"] != "club" else ""
    star = "*" if row["step_free"] == "yes" else ""
    return f"{least}{walk_text(row['walk_m'], units)}{star}"


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


def _errors(rows: gpd.GeoDataFrame) -> str:
    trained = (rows["basis"] == "ranker").any()
    return "how little the returns tell" if trained else "the survey's own errors"


def _evidence(species: Species) -> str:
    if species.evidence == "club":
        return "The club's own preferences."
    return f"Published preferences, evidence grade {species.evidence} of A-C."


def _score_text(score: float) -> str:
    return "n/a" if is_unknown(score) else f"{score:.2f}"
