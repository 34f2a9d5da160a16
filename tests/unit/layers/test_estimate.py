"""What a build will take is told first, and refused where it is too much."""

from __future__ import annotations

import pytest
from shapely import box

from layers import build, read_survey
from layers.errors import LayerError
from layers.estimate import estimate, told_or_refused
from pegscore.commands.demo import demo_source

WATER = box(0, 0, 2000, 50)  # 100,000 m2


def test_half_the_cell_is_four_times_the_cells():
    coarse = estimate(WATER, cell_m=1.0, levels=1)
    fine = estimate(WATER, cell_m=0.5, levels=1)
    assert (coarse.cells, fine.cells) == (100_000, 400_000)
    assert fine.gb == pytest.approx(4 * coarse.gb, rel=1e-12)  # plain multiplication


def test_a_usual_river_is_not_talked_about():
    assert told_or_refused(WATER, cell_m=1.0, levels=3) == ""


def test_a_large_one_is_told_before_it_starts():
    told = told_or_refused(WATER, cell_m=0.4, levels=3)
    assert "about 625,000 cells" in told
    assert "GB of memory" in told


def test_too_fine_a_cell_is_refused_with_its_estimate_and_a_way_out():
    with pytest.raises(LayerError, match=r"40,000,000 cells.*larger --cell"):
        told_or_refused(WATER, cell_m=0.05, levels=1)


def test_the_build_refuses_before_any_work():
    said = []
    with pytest.raises(LayerError, match="choose a larger --cell"):
        build(read_survey(demo_source()), cell_m=0.1, progress=said.append)
    assert said == []
