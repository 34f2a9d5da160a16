"""The water of each visit's peg at the level the river had on that visit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from pegscore.ranking import score_swims
from pegscore.run_visits import run_visits
from pegscore.water_table import FEATURES, water_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from pegscore.returns import Visits
    from pegscore.workflow import Run

    Values = NDArray[np.float64]

BY_LEVEL = ("log_prior", *FEATURES)
"""What changes with the level."""


def level_tables(run: Run, name: str) -> dict[float, pd.DataFrame]:
    """Return a species' ``pegscore.water_table`` at every level that is built."""
    return {
        level_m: water_table(
            score_swims(run.stack, run.pegs, run.species[name], level_m), run.pegs
        )
        for level_m in sorted(run.stack.levels_m)
    }


def at_own_level(
    visits: pd.DataFrame, tables: Mapping[float, pd.DataFrame], *, usual_m: float
) -> pd.DataFrame:
    """Return the visits to pegs of the tables, each with the water of its own level.

    Parameters
    ----------
    visits : DataFrame
        One row a visit: ``peg``, ``level_m`` (``NaN`` where nobody told it).
    tables : mapping of float to DataFrame
        By board reading, metres, as ``pegscore.water_table`` returns them: the same
        pegs in each.
    usual_m : float
        The level of visits that tell none.

    Returns
    -------
    DataFrame
        The visits with ``chainage_m`` and ``BY_LEVEL``: straight between the two
        levels about a visit's own, and those of the last level beyond it. A peg dry
        or unknown at one of the two has the other's water: nobody fishes dry ground.
    """
    levels = np.array(sorted(tables))
    pegs = tables[float(levels[0])]
    place = {peg: at for at, peg in enumerate(pegs["peg"])}
    rows = visits[visits["peg"].isin(place)]
    peg = rows["peg"].map(place).to_numpy(np.intp)
    low, high, share = _between(rows["level_m"].fillna(usual_m), levels)
    found = {"chainage_m": pegs["chainage_m"].to_numpy(np.float64)[peg]}
    for name in BY_LEVEL:
        held = np.array([tables[m][name].to_numpy(np.float64) for m in levels.tolist()])
        below, above = held[low, peg], held[high, peg]
        below, above = _filled(below, above), _filled(above, below)
        found[name] = below + share * (above - below)
    return rows.assign(**found)


def training_visits(run: Run) -> Visits:
    """Return a run's visits, with a note of whose water is not that of its own level.

    Raises
    ------
    ReturnsRefused
        If the survey has no returns.
    """
    visits = run_visits(run)
    notes = level_notes(
        visits.table["level_m"],
        run.stack.levels_m,
        usual_m=run.survey.river.gauge.level_m,
    )
    return replace(visits, notes=(*visits.notes, *notes))


def level_notes(
    level_m: pd.Series, built_m: Sequence[float], *, usual_m: float
) -> list[str]:
    """Say which visits are described by the water of another level than their own.

    Examples
    --------
    >>> import pandas as pd
    >>> level_notes(pd.Series([0.5, float("nan")]), [0.4, 0.6], usual_m=0.4)
    ['1 visits tell no level and none is told of their day; their water is taken at \
the usual 0.40 m']
    """
    notes = []
    silent = int(level_m.isna().sum())
    if silent:
        notes.append(
            f"{silent} visits tell no level and none is told of their day; their "
            f"water is taken at the usual {usual_m:.2f} m"
        )
    low, high = min(built_m), max(built_m)
    beyond = int(((level_m < low) | (level_m > high)).sum())
    if beyond:
        what = f"below {low:.2f} m or above {high:.2f} m" if low < high else "elsewhere"
        notes.append(
            f"{beyond} visits had the river {what}, where no level is built; their "
            "water is taken at the nearest level that is (pegscore build --level adds "
            "one)"
        )
    return notes


def _between(
    level_m: pd.Series, levels: Values
) -> tuple[NDArray[np.intp], NDArray[np.intp], Values]:
    """Return the built levels below and above each, and how far up it lies."""
    here = np.clip(level_m.to_numpy(np.float64), levels[0], levels[-1])
    high = np.clip(np.searchsorted(levels, here), min(1, len(levels) - 1), None)
    low = np.maximum(high - 1, 0)
    gap = np.where(high > low, levels[high] - levels[low], 1.0)
    return low, high, (here - levels[low]) / gap


def _filled(values: Values, others: Values) -> Values:
    return np.where(np.isnan(values), others, values)
