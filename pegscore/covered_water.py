"""The water that returns cover, and how much of another river lies outside it.

A ranker's corrections fade outside the water they were learnt on. On a river whose pegs
lie there it says little, and whoever reads its ranking must be told so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.water_table import FEATURES, bed_grade

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from pegscore.trained import Trained

ENDS = (0.05, 0.95)
"""Quantiles of the visits between which water counts as covered.

The study this design comes from, where it is a judgement of its author.
"""

MOST_OUTSIDE = 0.25
"""Share of pegs outside from which it is said; from the same study, a judgement too."""

WORDS = {"depth_m": "depth", "speed_m_s": "pace", "bed_grade": "bottom"}


def covered_water(visits: pd.DataFrame) -> dict[str, tuple[float, float]]:
    """Return the range of each feature over the visits, none where nothing is known.

    Examples
    --------
    >>> import pandas as pd
    >>> covered_water(pd.DataFrame({"depth_m": range(101)}))
    {'depth_m': (5.0, 95.0)}
    """
    found = {}
    for name in FEATURES:
        known = visits[name].dropna() if name in visits else ()
        if len(known):
            low, high = np.quantile(np.asarray(known, np.float64), ENDS)
            found[name] = (float(low), float(high))
    return found


def outside(
    pegs: pd.DataFrame, water: Mapping[str, tuple[float, float]]
) -> dict[str, float]:
    """Return the share of pegs whose water lies outside: in all, and by feature.

    Parameters
    ----------
    pegs : DataFrame
        One row a peg; of ``FEATURES``, those it has.
    water : mapping of str to (low, high)

    Returns
    -------
    dict of str to float
        ``any`` is the share of the pegs of which something is known that lie outside
        in at least one feature; ``NaN`` where nothing is known.
    """
    names = [name for name in water if name in pegs]
    values = {name: pegs[name].to_numpy(np.float64) for name in names}
    known = np.zeros(len(pegs), bool)
    far = np.zeros(len(pegs), bool)
    shares = {}
    for name, column in values.items():
        low, high = water[name]
        beyond = (column < low) | (column > high)
        seen = ~np.isnan(column)
        known, far = known | seen, far | beyond
        shares[name] = float(beyond[seen].mean()) if seen.any() else np.nan
    total = float(far[known].mean()) if known.any() else np.nan
    return {"any": total, **shares}


def foreign_words(rows: pd.DataFrame, trained: Trained) -> str:
    """Say how much of this river's water another river's returns do not cover.

    Parameters
    ----------
    rows : DataFrame
        One species' pegs with ``depth_m``, ``speed_m_s`` and shares of substrates.
    trained : Trained
        As ``pegscore.ranker_file.read_foreign`` returns it.

    Returns
    -------
    str
        Empty where no more than a quarter lies outside.
    """
    if not trained.water:
        return (
            "The other river's ranker does not tell which water its returns cover; "
            "whether it knows this river's depths and paces cannot be said."
        )
    shares = outside(rows.assign(bed_grade=bed_grade(rows)), trained.water)
    if not shares["any"] > MOST_OUTSIDE:
        return ""
    parts = [
        f"{word} at {100 * shares[name]:.0f} %"
        for name, word in WORDS.items()
        if shares.get(name, 0.0) > 0
    ]
    return (
        f"{100 * shares['any']:.0f} % of these pegs lie in water that the other "
        f"river's returns hardly cover ({', '.join(parts)}). There its ranker knows "
        "little; lean on the preferences and on your own eyes."
    )
