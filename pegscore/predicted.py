"""What was predicted of held-out pegs and what was then caught there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from pegscore.catches import rate_interval

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

BINS = 8
FEWEST_PEGS = 3
"""A point of the picture stands on at least so many pegs; our proposal."""


def calibration_table(predicted: ArrayLike, caught: ArrayLike) -> pd.DataFrame:
    """Return predicted and caught fish of held-out pegs, in bins of equal size.

    Parameters
    ----------
    predicted : array
        Expected fish of each held-out peg in the time it was fished.
    caught : array
        What was caught.

    Returns
    -------
    DataFrame
        One row a bin from the poorest to the best prediction: ``pegs``, ``predicted``
        and ``caught`` in fish a peg, and ``low``, ``high``, the 80 % interval of what
        was caught if fish come singly (they clump, so the truth is wider).

    Examples
    --------
    >>> calibration_table([1, 1, 1, 9, 9, 9], [2, 0, 1, 8, 9, 13]).round(2)
       pegs  predicted  caught   low   high
    0     3        1.0     1.0  0.37   2.23
    1     3        9.0    10.0  7.74  12.77
    """
    told = pd.DataFrame(
        {
            "predicted": np.asarray(predicted, np.float64),
            "caught": np.asarray(caught, np.float64),
        }
    ).dropna()
    told = told.sort_values("predicted", kind="stable").reset_index(drop=True)
    count = max(min(BINS, len(told) // FEWEST_PEGS), 1)
    part = (np.arange(len(told)) * count) // max(len(told), 1)
    grouped = told.groupby(part)
    table = grouped.mean().rename_axis(None)
    pegs = grouped.size()
    low, high = rate_interval(table["caught"] * pegs, pegs)
    table.insert(0, "pegs", pegs)
    return table.assign(low=low, high=high)
