"""What a swim is worth for one species, as the ranking has it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pegscore.conditions import Conditions, verdict
from pegscore.species import find_species
from pegscore.workflow import rank_run

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from pegscore.species import Species
    from pegscore.workflow import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class SwimScore:
    """One peg's row of a species' ranking.

    Parameters
    ----------
    species : Species
    row : mapping
        The row of ``pegscore.ranking.rank``; empty where a veto stands.
    pegs : int
        How many pegs have a rank.
    vetoes, notes : tuple of str
        Of ``pegscore.conditions.verdict``.
    """

    species: Species
    row: Mapping[str, Any]
    pegs: int
    vetoes: tuple[str, ...]
    notes: tuple[str, ...]


def swim_score(
    run: Run,
    peg: str,
    name: str,
    *,
    level_m: float,
    method: str = "float",
    date: dt.date | None = None,
    water_temp_c: float | None = None,
) -> SwimScore:
    """Rank all pegs for a species and return the row of one.

    Raises
    ------
    SpeciesUnknown
        If no species has that name.
    """
    (name,) = find_species(run.species, name)[:1]
    species = run.species[name]
    conditions = Conditions(
        level_m=level_m, date=date, water_temp_c=water_temp_c, method=method
    )
    told = verdict(species, conditions, run.survey.river.season)
    row: dict[str, Any] = {}
    ranked = 0
    if not told.vetoes:
        ranking = rank_run(run, [name], conditions)
        ranked = int(ranking["rank"].notna().sum())
        found = ranking.loc[ranking["peg"].astype(str) == peg].drop(columns="geometry")
        row = _without_returns(found.iloc[0].to_dict())
    return SwimScore(
        species=species, row=row, pegs=ranked, vetoes=told.vetoes, notes=told.notes
    )


def _without_returns(row: Mapping[Any, Any]) -> dict[str, Any]:
    """Take what the club's returns say of one peg out: a sheet is handed on."""
    kept = {str(key): value for key, value in row.items() if key != "returns"}
    told = str(row.get("returns", "") or "")
    if told:
        kept["why"] = str(kept["why"]).replace(told, "").strip()
    return kept
