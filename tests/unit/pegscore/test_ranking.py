"""Swims whose order anybody can say, and the errors round their scores."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point, box

from layers.grid import Grid
from layers.stack import Stack
from pegscore.conditions import Conditions
from pegscore.errors import PegError
from pegscore.ranking import FIRST_COLUMNS, rank
from pegscore.species import read_species

LEVEL_M = 0.6
NORMAL = Conditions(level_m=LEVEL_M)
GRAVEL = {"silt": 0.0, "sand": 0.0, "gravel": 1.0, "cobble": 0.0, "boulder": 0.0}
SILT = {**GRAVEL, "silt": 1.0, "gravel": 0.0}


@pytest.fixture(scope="module")
def barbel():
    return read_species()["barbel"]


def pegs_of(names: list[str], **columns) -> gpd.GeoDataFrame:
    """Pegs 20 m apart along the straight water, each with 20 x 20 m before it."""
    pegs = gpd.GeoDataFrame(
        {"open": True, **columns},
        index=names,
        geometry=[Point(1010 + 20 * i, 61) for i in range(len(names))],
        crs="EPSG:27700",
    )
    pegs["swim"] = gpd.GeoSeries(
        [box(1000 + 20 * i, 40, 1020 + 20 * i, 60) for i in range(len(names))],
        index=names,
        crs="EPSG:27700",
    )
    return pegs


def stack_of(grid: Grid, waters: list[dict], *, bottom: bool = True) -> Stack:
    """One water a peg: depth, speed, errors and bottom, the same in all its cells."""

    def laid(values: list[float]) -> np.ndarray:
        layer = np.full(grid.shape, np.nan, np.float32)
        for number, value in enumerate(values):
            layer[:, 20 * number : 20 * (number + 1)] = value
        return layer

    def each(name: str, default: float) -> np.ndarray:
        return laid([water.get(name, default) for water in waters])

    depth = each("depth", 1.5)
    fixed = {"bed": laid([0.0] * len(waters)), "bed_sd": each("bed_sd", 0.0)}
    if bottom:
        for name in GRAVEL:
            fixed[name] = laid([w.get("bottom", GRAVEL)[name] for w in waters])
    by_level = {
        LEVEL_M: {
            "depth": depth,
            "speed": each("speed", 0.5),
            "speed_sd": each("speed_sd", 0.0),
        }
    }
    return Stack(grid=grid, fixed=fixed, by_level=by_level)


def test_steady_pace_over_gravel_outranks_slack_over_silt_and_thin_water(
    straight_grid, barbel
):
    """The trade's own rule for barbel (common practice, no source)."""
    waters = [
        {"speed": 0.1, "bottom": SILT},
        {"depth": 0.4},
        {"depth": 1.5, "speed": 0.5, "bottom": GRAVEL},
    ]
    table = rank(
        stack_of(straight_grid, waters),
        pegs_of(["slack", "thin", "gravel run"]),
        species=barbel,
        conditions=NORMAL,
    )
    assert table["peg"].iloc[0] == "gravel run"
    by_peg = table.set_index("peg")["score"]
    assert by_peg["slack"] < by_peg["gravel run"] / 2
    assert by_peg["thin"] < by_peg["gravel run"]


def test_half_too_deep_and_half_too_shallow_is_not_average(straight_grid, barbel):
    """Cells of 0.1 m score 0 and of 1.5 m score 1: the swim scores a half.

    Its mean depth, 0.8 m, would score 1 (every curve point from the species file).
    """
    stack = stack_of(straight_grid, [{}])
    depth = np.array(stack.layer("depth", level_m=LEVEL_M))
    depth[:10, :20] = 0.1
    layers = {**stack.by_level[LEVEL_M], "depth": depth}
    mixed = Stack(grid=straight_grid, fixed=stack.fixed, by_level={LEVEL_M: layers})
    table = rank(mixed, pegs_of(["1"]), species=barbel, conditions=NORMAL)
    full = rank(stack, pegs_of(["1"]), species=barbel, conditions=NORMAL)
    assert table["depth_m"].iloc[0] == pytest.approx(0.8, abs=1e-6)
    # float32 layers: seven digits
    assert table["score"].iloc[0] == pytest.approx(full["score"].iloc[0] / 2, rel=1e-6)


def test_a_peg_that_falls_dry_with_the_river_is_kept_without_a_rank(
    straight_grid, barbel
):
    low = stack_of(straight_grid, [{"depth": np.nan}, {"depth": 0.9}])
    high = stack_of(straight_grid, [{"depth": 0.6}, {"depth": 1.5}])
    both = Stack(
        grid=straight_grid,
        fixed=low.fixed,
        by_level={0.2: low.by_level[LEVEL_M], 0.8: high.by_level[LEVEL_M]},
    )
    pegs = pegs_of(["shoal", "pool"])
    dry, wet = (
        rank(both, pegs, species=barbel, conditions=Conditions(level_m=level_m))
        for level_m in (0.2, 0.8)
    )
    assert wet["score"].notna().all()
    assert dry["peg"].tolist() == ["pool", "shoal"]
    assert dry["score"].isna().tolist() == [False, True]
    assert dry["rank"].isna().tolist() == [False, True]
    assert dry["why"].iloc[1] == (
        "Not scored: all the water in reach is dry at this level."
    )


def test_water_that_nobody_sounded_is_not_called_dry(straight_grid, barbel):
    stack = stack_of(straight_grid, [{"depth": np.nan}])
    unknown = {**stack.fixed, "bed": np.full(straight_grid.shape, np.nan, np.float32)}
    unsounded = Stack(grid=straight_grid, fixed=unknown, by_level=stack.by_level)
    table = rank(unsounded, pegs_of(["1"]), species=barbel, conditions=NORMAL)
    assert table["why"].iloc[0] == "Not scored: the water in reach was not surveyed."


def test_a_swim_half_dry_says_how_much(straight_grid, barbel):
    stack = stack_of(straight_grid, [{}])
    depth = np.array(stack.layer("depth", level_m=LEVEL_M))
    depth[:10, :20] = np.nan
    layers = {**stack.by_level[LEVEL_M], "depth": depth}
    half = Stack(grid=straight_grid, fixed=stack.fixed, by_level={LEVEL_M: layers})
    table = rank(half, pegs_of(["1"]), species=barbel, conditions=NORMAL)
    assert table["dry_share"].iloc[0] == pytest.approx(0.5, rel=1e-12)
    assert (
        "50 % of the swim is known to hold water: 50 % is dry" in table["why"].iloc[0]
    )


def test_the_columns_begin_as_the_contract_says(straight_grid, barbel):
    table = rank(
        stack_of(straight_grid, [{}]),
        pegs_of(["1"]),
        species=barbel,
        conditions=NORMAL,
    )
    assert tuple(table.columns[: len(FIRST_COLUMNS)]) == FIRST_COLUMNS
    wanted = {"depth_m", "speed_m_s", "gravel_share"}
    wanted |= {"suit_depth", "suit_speed", "suit_substrate"}
    assert wanted <= set(table.columns)
    assert table["basis"].tolist() == ["preference"]


def test_ties_keep_the_order_of_the_file(straight_grid, barbel):
    table = rank(
        stack_of(straight_grid, [{}, {}, {}]),
        pegs_of(["9", "2", "5"]),
        species=barbel,
        conditions=NORMAL,
    )
    assert table["peg"].tolist() == ["9", "2", "5"]
    assert table["rank"].tolist() == [1, 2, 3]


def test_a_barred_peg_has_no_score_and_no_rank_but_a_reason(straight_grid, barbel):
    pegs = pegs_of(["1", "2", "3"], blocked=["overhead line 12 m away", "", ""])
    pegs.loc["2", "open"] = False
    table = rank(
        stack_of(straight_grid, [{}, {}, {}]), pegs, species=barbel, conditions=NORMAL
    ).set_index("peg")
    assert table["rank"].isna().tolist() == [False, True, True]
    assert table.loc[["1", "2"], ["score", "low", "high"]].isna().all(axis=None)
    assert "overhead line 12 m away" in table.loc["1", "why"]
    assert "closed by the club" in table.loc["2", "why"]


def test_a_dry_swim_is_not_scored_and_says_so(straight_grid, barbel):
    table = rank(
        stack_of(straight_grid, [{"depth": np.nan, "speed": np.nan}, {}]),
        pegs_of(["dry", "wet"]),
        species=barbel,
        conditions=NORMAL,
    ).set_index("peg")
    assert np.isnan(table.loc["dry", "score"])
    assert "dry" in table.loc["dry", "why"]
    assert table.loc["wet", "rank"] == 1


def test_dry_margins_count_as_water_nobody_can_fish(straight_grid, barbel):
    stack = stack_of(straight_grid, [{}])
    layers = {name: np.array(a) for name, a in stack.by_level[LEVEL_M].items()}
    for values in layers.values():
        values[:5, :20] = np.nan  # a quarter of the swim falls dry
    drier = Stack(grid=straight_grid, fixed=stack.fixed, by_level={LEVEL_M: layers})
    full, part = (
        rank(each, pegs_of(["1"]), species=barbel, conditions=NORMAL)["score"].iloc[0]
        for each in (stack, drier)
    )
    assert part == pytest.approx(0.75 * full, rel=1e-6)


def test_an_unsurveyed_bottom_is_said_and_widens_the_interval(straight_grid, barbel):
    pegs = pegs_of(["1"])
    known, unknown = (
        rank(
            stack_of(straight_grid, [{}], bottom=bottom),
            pegs,
            species=barbel,
            conditions=NORMAL,
        ).iloc[0]
        for bottom in (True, False)
    )
    assert np.isnan(unknown["suit_substrate"])
    assert "not surveyed" in unknown["why"]
    assert unknown["high"] - unknown["low"] > known["high"] - known["low"] + 0.3


def test_without_errors_the_interval_closes_on_the_score(straight_grid, barbel):
    row = rank(
        stack_of(straight_grid, [{"depth": 0.6, "speed": 0.3}]),
        pegs_of(["1"]),
        species=barbel,
        conditions=NORMAL,
    ).iloc[0]
    assert 0 < row["score"] < 1
    # gravel for certain has no spread: nothing is left to move
    assert row["low"] == pytest.approx(row["score"], abs=1e-6)
    assert row["high"] == pytest.approx(row["score"], abs=1e-6)


def test_an_interval_on_a_straight_stretch_of_curve_is_the_normal_one(
    straight_grid, barbel
):
    """Between 0.4 and 0.8 m the barbel's depth curve is a line from 0.5 to 1.

    With an error of 0.05 m its 10 and 90 % points lie 1.2816 errors either side of
    0.6 m, so the score there (all else perfect) is 0.75 less and plus 0.0801.
    """
    row = rank(
        stack_of(straight_grid, [{"depth": 0.6, "bed_sd": 0.05}]),
        pegs_of(["1"]),
        species=barbel,
        conditions=NORMAL,
    ).iloc[0]
    best = row["score"] / 0.75
    # 64 draws place a tenth within about two hundredths of a standard error
    assert row["low"] / best == pytest.approx(0.75 - 0.0801, abs=0.006)
    assert row["high"] / best == pytest.approx(0.75 + 0.0801, abs=0.006)


def test_pegs_without_swims_are_refused_with_the_way_out(straight_grid, barbel):
    pegs = pegs_of(["1"]).drop(columns="swim")
    with pytest.raises(PegError, match="no column 'swim'"):
        rank(stack_of(straight_grid, [{}]), pegs, species=barbel, conditions=NORMAL)


def test_a_pace_nobody_measured_widens_the_interval_to_any_pace(straight_grid, barbel):
    water = {"speed": np.nan, "speed_sd": np.nan}
    row = rank(
        stack_of(straight_grid, [water]),
        pegs_of(["1"]),
        species=barbel,
        conditions=NORMAL,
    ).iloc[0]
    assert "pace not surveyed" in row["why"].lower()
    # a suitability anywhere in [0, 1] has its lowest tenth below 0.1; 64 draws
    # place that tenth to within two of them
    assert row["low"] == pytest.approx(0.1 * row["score"], abs=2 / 64)
    assert row["high"] >= row["score"]
