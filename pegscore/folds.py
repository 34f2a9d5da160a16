"""How returns are cut for an honest test: whole stretches, whole spells of time.

Neighbouring pegs are alike and so are neighbouring days, so that folds drawn at random
flatter (Roberts et al. 2017, doi 10.1111/ecog.02881).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    Labels = NDArray[np.intp]
    Mask = NDArray[np.bool_]

STRETCHES = 5
"""Blocks of a test; our proposal."""

JOINT_BLOCKS = 3
"""Stretches, and spells of seasons, where both are cut at once; our proposal.

Nine fits then, and four ninths of the returns to learn from in each.
"""


def equal_blocks(position: ArrayLike, weight: ArrayLike, *, blocks: int) -> Labels:
    """Cut places in order of position into blocks of about equal weight.

    Examples
    --------
    >>> equal_blocks([10.0, 30.0, 20.0, 40.0], [1, 1, 1, 1], blocks=2).tolist()
    [0, 1, 0, 1]
    """
    places = np.asarray(position, np.float64)
    weights = np.asarray(weight, np.float64)
    order = np.argsort(places, kind="stable")
    done = np.cumsum(weights[order]) - weights[order] / 2
    labels = np.empty(len(places), dtype=np.intp)
    share = done / max(weights.sum(), 1e-12)
    labels[order] = np.minimum((share * blocks).astype(np.intp), blocks - 1)
    return labels


def stretch_blocks(visits: pd.DataFrame, *, blocks: int = STRETCHES) -> Labels:
    """Return each visit's stretch: contiguous pegs, about equal visits each."""
    pegs = visits.groupby("peg")["chainage_m"].agg(["first", "size"])
    labels = equal_blocks(pegs["first"], pegs["size"], blocks=blocks)
    by_peg = dict(zip(pegs.index, labels, strict=True))
    return np.array([by_peg[peg] for peg in visits["peg"]], dtype=np.intp)


def joint_cuts(
    visits: pd.DataFrame, *, blocks: int = JOINT_BLOCKS
) -> list[tuple[Mask, Mask]]:
    """Return cuts by stretch and season at once: what trains and what is held out.

    Held out are the visits to one stretch in one season, or in a few neighbouring ones;
    what trains has neither that stretch nor that season.

    Returns
    -------
    list of (mask, mask)
        Empty where there is but one stretch or one season, so that no such cut can
        be made. A cut without visits on either side is left out.
    """
    counts = visits.groupby("season").size()
    spells = equal_blocks(counts.index, counts, blocks=min(blocks, len(counts)))
    by_season = dict(zip(counts.index, spells, strict=True))
    spell = np.array([by_season[season] for season in visits["season"]], np.intp)
    stretch = stretch_blocks(visits, blocks=blocks)
    if min(np.ptp(spell), np.ptp(stretch)) == 0:  # one block holds everything
        return []
    cuts = [
        ((stretch != here) & (spell != then), (stretch == here) & (spell == then))
        for here in np.unique(stretch)
        for then in np.unique(spell)
    ]
    return [(train, held) for train, held in cuts if train.any() and held.any()]


def time_blocks(visits: pd.DataFrame, *, blocks: int = STRETCHES) -> Labels:
    """Return each visit's spell of time; the visits of one day stay together."""
    days = visits["date"].rank(method="dense").to_numpy(np.float64)
    sizes = np.bincount(days.astype(np.intp) - 1)
    labels = equal_blocks(np.arange(len(sizes)), sizes, blocks=blocks)
    return np.asarray(labels[days.astype(np.intp) - 1])
