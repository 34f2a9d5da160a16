"""The trade's own check of loose feed: common practice, no source.

"In about 1.5 m of water, loose feed thrown about a metre downstream of the angler
reaches the bottom roughly six or seven metres down the swim." That is 5 to 6 m of
drift through 1.5 m; with a drift of ``U h / w``, ``U / w`` of 3.3 to 4. Ordinary
water to run a float in has a pace of 0.2 to 0.5 m/s.

What follows is no proof of the shipped densities, which are common practice too; it
says with which paces they agree with the saying, and for which baits they do not.
"""

from __future__ import annotations

import numpy as np
import pytest

from pegscore.baits import read_baits
from pegscore.drift import Stream, landing_m

DEPTH_M, THROWN_M = 1.5, 1.0
DRIFT_M = (5.0, 6.0)
ORDINARY_M_S = (0.2, 0.5)
AGREES = ("maggot", "caster", "hemp", "tares", "sweetcorn", "pellet", "worm", "meat")
TOO_SLOW, TOO_FAST = "bread", "groundbait"


def paces(settling_m_s: float) -> tuple[float, float]:
    """Return the paces at which a bait drifts 5 and 6 m."""
    slow, fast = (drift / DEPTH_M * settling_m_s for drift in DRIFT_M)
    return slow, fast


@pytest.mark.parametrize("name", AGREES)
def test_a_bait_that_is_thrown_loose_lands_there_in_ordinary_water(name):
    slow, fast = paces(read_baits()[name].settling().usual_m_s)
    assert slow < ORDINARY_M_S[1]
    assert fast > ORDINARY_M_S[0]
    middle = (slow + fast) / 2
    assert ORDINARY_M_S[0] < middle < ORDINARY_M_S[1]
    water = Stream(
        along_m=np.array([0.0, 30.0]),
        depth_m=np.full(2, DEPTH_M),
        speed_m_s=np.full(2, middle),
    )
    landed = landing_m(water, THROWN_M, read_baits()[name].settling().usual_m_s)
    assert 6.0 < float(landed) < 7.0


def test_mashed_bread_would_want_slower_water_and_a_ball_far_faster():
    baits = read_baits()
    assert paces(baits[TOO_SLOW].settling().usual_m_s)[1] < ORDINARY_M_S[0]
    assert paces(baits[TOO_FAST].settling().usual_m_s)[0] > 2 * ORDINARY_M_S[1]


def test_every_bait_that_sinks_is_on_one_side_or_the_other():
    sinking = {n for n, b in read_baits().items() if not b.settling().floats}
    assert sinking == {*AGREES, TOO_SLOW, TOO_FAST}
