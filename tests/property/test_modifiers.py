"""What must hold of any modifier on any water."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pegscore.conditions import Conditions, verdict
from pegscore.modifiers import cell_factor
from pegscore.oxygen import saturation_mg_l
from pegscore.species import read_species

SPECIES = read_species()
KINDS = st.sampled_from(sorted(SPECIES))


@given(
    name=KINDS,
    temp_c=st.floats(-1.0, 40.0),
    mg_l=st.floats(0.0, 25.0),
    clarity=st.sampled_from(["", "clear", "tinged", "coloured"]),
)
def test_the_days_factor_is_a_finite_share_that_says_its_parts(
    name, temp_c, mg_l, clarity
):
    day = Conditions(
        level_m=0.6, water_temp_c=temp_c, oxygen_mg_l=mg_l, clarity=clarity
    )
    told = verdict(SPECIES[name], day, None)
    assert 0.0 <= told.day_factor <= 1.0
    assert bool(told.day_why) is (told.day_factor != 1.0)


@given(colder_c=st.floats(0.0, 39.0), step_c=st.floats(0.01, 1.0))
def test_warmer_water_never_holds_more_oxygen(colder_c, step_c):
    assert saturation_mg_l(colder_c + step_c) < saturation_mg_l(colder_c)


@given(
    name=KINDS,
    depth_m=st.floats(0.0, 10.0) | st.just(float("nan")),
    speed_m_s=st.floats(0.0, 3.0) | st.just(float("nan")),
)
def test_no_water_makes_a_modifier_negative_or_unknown(name, depth_m, speed_m_s):
    water = {"depth_m": np.array([depth_m]), "speed_m_s": np.array([speed_m_s])}
    factor = cell_factor(SPECIES[name].modifiers, water)
    assert factor is None or 0.0 < factor[0] <= 2.0
