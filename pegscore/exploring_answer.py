"""Which pegs a club should visit to learn most, as people and machines read it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pegscore import screen
from pegscore.catches import peg_effort, tellable
from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.exploring import VISIT_H, untaught_sd, visit_information
from pegscore.run_visits import run_visits
from pegscore.wording import AT_THE_WATER

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd

    from pegscore.returns import Visits
    from pegscore.wishes import Wishes
    from pegscore.workflow import Run

TOP = 10
FEW = "few"
"""Said of the hours at a peg that too few visits or anglers stand behind."""

EXPLAINED = (
    f"In order of what one more visit of {VISIT_H:g} hours should teach of a peg's "
    "catch rate, not of what it should catch; a blank handed in teaches as well. "
    "Closed and barred pegs are left out."
)


def exploring_table(
    ranking: gpd.GeoDataFrame, visits: Visits, name: str
) -> pd.DataFrame:
    """Return a species' scored pegs by what a visit is expected to teach, best first.

    Parameters
    ----------
    ranking : GeoDataFrame
        As ``pegscore.day.rank_day`` returns it.
    visits : Visits
    name : str
        The species.

    Returns
    -------
    DataFrame
        ``peg``, ``information`` (nats), ``per_hour`` (expected fish) and ``hours``
        fished so far, ``NaN`` where too few visits or anglers stand behind them.
    """
    rows = ranking[(ranking["species"] == name) & ranking["score"].notna()]
    effort = peg_effort(visits)
    hours = effort["hours"].reindex(rows["peg"]).fillna(0.0).to_numpy(float)
    score = rows["score"].to_numpy(float)
    expected = float(hours @ score)
    caught = float(visits.caught(name).sum())
    rate = score * caught / expected if expected > 0 else np.full(len(rows), np.nan)
    told = tellable(effort).reindex(rows["peg"], fill_value=True).to_numpy(bool)
    table = pd.DataFrame(
        {
            "peg": rows["peg"].to_numpy(),
            "information": visit_information(rate, untaught_sd(rate, hours)),
            "per_hour": rate,
            "hours": np.where(told | (hours == 0), hours, np.nan),
        }
    )
    return table.sort_values("information", ascending=False, kind="stable")


def show_exploring(
    run: Run,
    names: Sequence[str],
    ranking: gpd.GeoDataFrame,
    wishes: Wishes,
    *,
    machine: bool,
) -> int:
    """Show where visits would teach most.

    Raises
    ------
    ReturnsRefused
        If the survey has no returns: then every peg is as little known as another.
    """
    visits = run_visits(run)
    tables = {
        name: exploring_table(ranking, visits, name).head(wishes.top or TOP)
        for name in names
    }
    if machine:
        species = {name: screen.records(table) for name, table in tables.items()}
        screen.show_json({"cautions": GENERAL_CAUTIONS, "species": species})
        return screen.DONE
    screen.show(screen.wrapped(EXPLAINED))
    for name, table in tables.items():
        screen.show()
        screen.show(f"{run.species[name].title}, where a visit would teach most")
        if table.empty:
            screen.show("No peg is left to visit; pegscore rank says why.")
        else:
            screen.show(screen.text_table(HEADER, _cells(table)))
    screen.show(screen.wrapped(AT_THE_WATER, first="! "))
    return screen.DONE


HEADER = ["peg", "fish an hour, expected", "hours so far", "information"]


def _cells(table: pd.DataFrame) -> list[list[str]]:
    columns = (table[name] for name in ("peg", "per_hour", "hours", "information"))
    return [
        [
            str(peg),
            f"{rate:.2f}",
            FEW if np.isnan(hours) else f"{hours:.0f}",
            f"{told:.2f}",
        ]
        for peg, rate, hours, told in zip(*columns, strict=True)
    ]
