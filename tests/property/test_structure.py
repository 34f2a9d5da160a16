"""What must be so of structure in any water."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate

from layers.structure import find_structure

sys.path.append(str(Path(__file__).parent.parent))
from structure_world import LEVEL_M, World, even, shear

FEW = settings(max_examples=8)  # a world takes a fifth of a second


def structure_of(world: World):
    return find_structure(world.stack, world.channel, level_m=LEVEL_M)


@FEW
@given(
    speed_m_s=st.floats(0.2, 1.5),
    depth_m=st.floats(0.5, 3.0),
    swing_m=st.floats(0.0, 15.0),
)
def test_even_water_has_no_structure(speed_m_s, depth_m, swing_m):
    world = World(speed=even(speed_m_s), depth=even(depth_m), swing_m=swing_m)
    found = structure_of(world)
    assert found.lines.empty
    assert found.areas.empty
    # float32 layers: seven digits of some metres over two cells
    assert np.nanmax(found.rasters["speed_gradient"]) < 1e-5
    assert np.nanmax(found.rasters["depth_gradient"]) < 1e-5


@FEW
@given(
    at_m=st.floats(-10.0, 10.0), turns=st.integers(1, 3), swing_m=st.floats(0.0, 15.0)
)
def test_a_turned_river_has_its_lines_turned(at_m, turns, swing_m):
    depth = lambda _c, n: 1.0 + 0.3 * np.clip(n + 3.0, 0.0, 4.0)  # noqa: E731
    worlds = (
        World(speed=shear(at_m), depth=depth, swing_m=swing_m, quarter_turns=quarter)
        for quarter in (0, turns)
    )
    plain, turned = (structure_of(world).lines for world in worlds)
    assert sorted(plain["kind"]) == sorted(turned["kind"]) == ["crease", "shelf"]
    for kind in ("crease", "shelf"):
        here, there = (t[t["kind"] == kind].geometry.iloc[0] for t in (plain, turned))
        back = rotate(there, -90 * turns, origin=(0, 0))
        # A quarter turn maps cells on to cells: what is left is rounding, and the
        # lines' simplification to a quarter of a cell.
        assert here.hausdorff_distance(back) < 0.5


@FEW
@given(at_m=st.floats(-10.0, 10.0), faster=st.floats(1.0, 2.0))
def test_faster_water_all_over_moves_no_crease_and_strengthens_it_in_proportion(
    at_m, faster
):
    slow, fast = (
        structure_of(World(speed=lambda c, n, k=k: k * shear(at_m)(c, n))).lines
        for k in (1.0, faster)
    )
    assert slow["offset_m"].iloc[0] == pytest.approx(fast["offset_m"].iloc[0], abs=1e-3)
    ratio = fast["strength"].iloc[0] / slow["strength"].iloc[0]
    assert ratio == pytest.approx(faster, rel=1e-5)  # float32
