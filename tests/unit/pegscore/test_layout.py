"""Plans on a straight river whose best answer anybody can say."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS
from shapely import LineString, box

from pegscore.candidates import BankWishes
from pegscore.commands.layout import weights_of
from pegscore.errors import LayoutRefused, SpeciesUnknown
from pegscore.layout import layout_pool, plan_layout
from pegscore.layout_check import check_layout
from pegscore.layout_comparison import compare
from pegscore.layout_file import COLUMNS, read_layout, write_layout
from pegscore.layout_rules import LayoutRules

LEVEL_M = 0.6
WEIGHTS = {"chub": 1.0}
LINE = LineString([(1100.0, 0.0), (1100.0, 200.0)])


def pool_of(run, *, step_m=2.0, **wishes):
    return layout_pool(
        run, WEIGHTS, [LEVEL_M], step_m=step_m, wishes=BankWishes(**wishes)
    )


def deeper(east):
    """From 0.3 m upstream to 1.8 m downstream."""
    return 0.3 + 1.5 * (east - 1000) / 200


def least_apart_m(table) -> float:
    least = np.inf
    for _, own in table.groupby("bank"):
        east, north = own["easting"].to_numpy(), own["northing"].to_numpy()
        away = np.hypot(east[:, None] - east, north[:, None] - north)
        least = min(least, away[np.triu_indices(len(own), 1)].min(initial=np.inf))
    return least


def test_the_plan_holds_so_many_pegs_at_their_spacing(bank_run):
    rules = LayoutRules(pegs=8, spacing_m=20.0)
    plan = plan_layout(pool_of(bank_run(depth_of=deeper)), rules)
    assert len(plan.table) == 8
    assert list(plan.table.columns[:8]) == list(COLUMNS)
    assert least_apart_m(plan.table) >= 20.0 - 1e-3
    assert plan.chosen.gap == 0.0


def test_the_better_end_of_the_river_gets_the_pegs(bank_run):
    """Chub like 0.8 m and more: the lower two thirds score alike, the upper less."""
    plan = plan_layout(
        pool_of(bank_run(depth_of=deeper)), LayoutRules(pegs=6, spacing_m=30.0)
    )
    assert (plan.table["easting"] > 1060).all()


def test_too_many_pegs_are_refused_with_the_number_that_fits(bank_run):
    """Ten a bank: 198 m of marks at 2 m, from 1 to 199 m, hold 10 at 20 m."""
    run = bank_run(seats=[(1001.0, 80.0)], open=[False])
    pool = pool_of(run)
    with pytest.raises(LayoutRefused, match=r"the largest number that fits is 20;"):
        plan_layout(pool, LayoutRules(pegs=21, spacing_m=20.0))
    assert len(plan_layout(pool, LayoutRules(pegs=20, spacing_m=20.0)).table) == 20


def test_no_peg_is_planned_where_a_rule_forbids(bank_run):
    run = bank_run(
        places=[("overhead_line", LINE), ("no_fishing", box(1000, 40, 1040, 70))]
    )
    plan = plan_layout(pool_of(run), LayoutRules(pegs=6, spacing_m=15.0))
    assert ((plan.table["easting"] - 1100).abs() >= 30.0).all()
    assert (plan.table["easting"] > 1040.0).all()


def test_a_kept_peg_stays_under_its_name(bank_run):
    rules = LayoutRules(pegs=4, spacing_m=20.0, keep=("1",))
    plan = plan_layout(pool_of(bank_run(depth_of=deeper)), rules)
    kept = plan.table.set_index("peg").loc["1"]
    assert (kept["easting"], kept["northing"]) == (1050.0, 61.0)
    assert "1" in compare(plan).stays


def test_pegs_that_cannot_be_kept_are_all_named(bank_run):
    run = bank_run(places=[("overhead_line", LINE)])
    with pytest.raises(LayoutRefused) as told:
        plan_layout(pool_of(run), LayoutRules(pegs=4, spacing_m=9.0, keep=("2", "9")))
    lines = str(told.value).splitlines()
    assert lines[0] == "peg 9 cannot be kept: there is none"
    assert lines[1].startswith("peg 2 cannot be kept: overhead line")


def test_kept_pegs_too_near_to_each_other_are_named(bank_run):
    run = bank_run(seats=[(1050.0, 61.0), (1058.0, 61.0)])
    with pytest.raises(LayoutRefused, match="pegs 1 and 2 cannot both be kept"):
        plan_layout(pool_of(run), LayoutRules(pegs=4, spacing_m=9.0, keep=("1", "2")))


def test_more_kept_pegs_than_wanted_are_refused(bank_run):
    with pytest.raises(LayoutRefused, match="2 pegs are kept but only 1 wanted"):
        plan_layout(
            pool_of(bank_run()), LayoutRules(pegs=1, spacing_m=9, keep=("all",))
        )


def test_step_free_pegs_stand_by_the_step_free_path(bank_run):
    path = ("step_free_path", LineString([(1000.0, 65.0), (1050.0, 65.0)]))
    pool = pool_of(bank_run(places=[path], depth_of=deeper))
    without = plan_layout(pool, LayoutRules(pegs=4, spacing_m=20.0))
    wished = plan_layout(pool, LayoutRules(pegs=4, spacing_m=20.0, step_free=2))
    assert without.table["step_free"].sum() == 0  # the good water is elsewhere
    assert wished.table["step_free"].sum() == 2
    assert wished.chosen.value < without.chosen.value
    with pytest.raises(LayoutRefused, match="no plan holds 4 step-free pegs"):
        plan_layout(pool, LayoutRules(pegs=4, spacing_m=20.0, step_free=4))


def test_pegs_do_not_fish_the_same_water_across_the_river(bank_run):
    """A ledger reaches 22 m, over all of the 20 m wide river."""
    pool = pool_of(bank_run(), method="ledger")
    plan = plan_layout(pool, LayoutRules(pegs=8, spacing_m=10.0))
    swims = pool.found.table["swim"].iloc[plan.rows].tolist()
    banks = plan.table["bank"].tolist()
    for one, a in zip(swims, banks, strict=True):
        for other, b in zip(swims, banks, strict=True):
            assert a == b or one.intersection(other).area <= 0.01
    free = plan_layout(pool, LayoutRules(pegs=8, spacing_m=10.0, across=False))
    assert free.chosen.value >= plan.chosen.value - 1e-9


def test_sections_are_whole_and_even(bank_run):
    rules = LayoutRules(pegs=9, spacing_m=15.0, sections=3)
    plan = plan_layout(pool_of(bank_run(depth_of=deeper)), rules)
    assert plan.table["section"].value_counts().tolist() == [3, 3, 3]
    for _, own in plan.table.groupby("section"):
        assert own["bank"].nunique() == 1
    best = plan_layout(
        pool_of(bank_run(depth_of=deeper)), LayoutRules(pegs=9, spacing_m=15.0)
    )
    assert np.ptp(plan.table["score"]) <= np.ptp(best.table["score"]) + 1e-9
    assert plan.table["score"].min() >= best.table["score"].min() - 1e-9


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"spacing_m": 0.0}, "a spacing of 0 m"),
        ({"spacing_m": float("nan")}, "a spacing of nan m"),
        ({"pegs": 0}, "pegs is 0"),
        ({"step_free": 5}, "step-free is 5"),
        ({"sections": -1}, "sections is -1"),
    ],
)
def test_wishes_that_make_no_sense_are_refused(wrong, said):
    with pytest.raises(LayoutRefused, match=said):
        LayoutRules(**{"pegs": 4, "spacing_m": 10.0, **wrong})


def test_weights_are_read_as_written(bank_run):
    run = bank_run()
    assert weights_of(run, "barbel=2,chub") == {"barbel": 2.0, "chub": 1.0}
    for wrong in ("barbel=x", "barbel=0", "barbel=-1", "barbel=nan"):
        with pytest.raises(LayoutRefused, match="the weight of 'barbel'"):
            weights_of(run, wrong)
    with pytest.raises(SpeciesUnknown):
        weights_of(run, "barble")


def test_a_written_plan_read_back_keeps_every_rule(bank_run, tmp_path):
    # a system whose way to WGS 84 and back is exact, unlike that of a sheet's far edge
    crs = CRS("EPSG:25832")
    run = bank_run(depth_of=deeper, places=[("overhead_line", LINE)], crs_used=crs)
    rules = LayoutRules(pegs=7, spacing_m=12.0, keep=("1",), sections=2)
    plan = plan_layout(pool_of(run), rules)
    csv, shapes = write_layout(plan.table, tmp_path, spacing_m=12.0)
    assert csv.read_text("utf-8").splitlines()[0] == ",".join(COLUMNS)
    drawn = read_layout(shapes, crs)
    assert drawn.spacing_m == 12.0
    checked = check_layout(run, drawn.pegs, rules, WEIGHTS, [LEVEL_M])
    assert checked.breaks == ()
    assert checked.table["peg"].tolist() == plan.table["peg"].tolist()
    # a millimetre of a peg moves its score by far less
    np.testing.assert_allclose(checked.table["score"], plan.table["score"], atol=1e-3)


def test_geojson_is_longitude_and_latitude_with_nulls_for_unknown(bank_run, tmp_path):
    plan = plan_layout(pool_of(bank_run()), LayoutRules(pegs=3, spacing_m=12.0))
    _, shapes = write_layout(plan.table, tmp_path, spacing_m=12.0)
    told = json.loads(shapes.read_text("utf-8"))
    assert "crs" not in told  # RFC 7946, section 4
    for feature in told["features"]:
        longitude, latitude = feature["geometry"]["coordinates"]
        assert -8 < longitude < 2  # EPSG:27700 is Great Britain
        assert 49 < latitude < 61
        assert feature["properties"]["section"] is None


def drawn_file(tmp_path, *pegs) -> object:
    """A drawn layout of (name, longitude, latitude, bank)."""
    features = [
        {
            "type": "Feature",
            "properties": {"peg": name, "bank": bank},
            "geometry": {"type": "Point", "coordinates": [east, north]},
        }
        for name, east, north, bank in pegs
    ]
    path = tmp_path / "drawn.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


@pytest.mark.parametrize(
    ("pegs", "said"),
    [
        ([], "holds no pegs"),
        ([("", 0, 50, "left")], "its peg is ''"),
        ([("a", 200, 50, "left")], r"peg a lies at \[200, 50\]"),
        ([("a", 0, 50, ""), ("a", 0, 51, "")], "peg a is there more than once"),
    ],
)
def test_a_drawn_file_that_cannot_be_used_is_refused(tmp_path, crs, pegs, said):
    with pytest.raises(LayoutRefused, match=said):
        read_layout(drawn_file(tmp_path, *pegs), crs)


@pytest.mark.parametrize("text", ["", "[1]", "{", '{"type": "Feature"}'])
def test_what_is_no_layout_is_refused(tmp_path, crs, text):
    path = tmp_path / "drawn.geojson"
    path.write_text(text)
    with pytest.raises(LayoutRefused, match=r"drawn\.geojson"):
        read_layout(path, crs)


def test_every_broken_rule_of_a_drawn_layout_is_told(bank_run):
    run = bank_run(
        places=[("overhead_line", LINE)], seats=[(1010.0, 61.0), (1150.0, 39.0)]
    )
    plan = plan_layout(pool_of(run), LayoutRules(pegs=1, spacing_m=9.0))
    drawn = plan.table.iloc[:0][["peg", "easting", "northing", "bank"]]
    drawn = drawn.reindex(range(5))
    drawn["peg"] = ["a", "b", "c", "d", "e"]
    drawn["easting"] = [1020.0, 1025.0, 1090.0, 1170.0, 1180.0]
    drawn["northing"] = [61.0, 61.0, 61.0, 90.0, 39.0]
    drawn["bank"] = ["left", "", "left", "left", "left"]
    rules = LayoutRules(pegs=6, spacing_m=9.0, keep=("1",), step_free=1)
    told = "\n".join(check_layout(run, drawn, rules, WEIGHTS, [LEVEL_M]).breaks)
    for said in (
        "pegs a and b: 5.00 m apart, nearer than 9 m",
        "peg c: overhead line",
        "peg d: 30.0 m from the water's edge",
        "peg e: on the right bank, not the left one",
        "peg 1 must stay but is not in the layout",
        "5 pegs are drawn, 6 were asked for",
        "0 pegs are step-free, 1 were asked for",
    ):
        assert said in told


def test_keeping_all_wants_no_peg_that_a_wider_clearance_forbids(bank_run):
    """``all`` is all that no rule forbids, in the check as in the plan."""
    path = ("step_free_path", LineString([(1120.0, 65.0), (1180.0, 65.0)]))
    run = bank_run(places=[("overhead_line", LINE), path], depth_of=deeper)
    wishes = BankWishes(clearance_m=51.0)
    pool = layout_pool(run, WEIGHTS, [LEVEL_M], step_m=6.0, wishes=wishes)
    rules = LayoutRules(pegs=1, spacing_m=1.0, keep=("all",))
    drawn = plan_layout(pool, rules).table[["peg", "easting", "northing", "bank"]]
    told = check_layout(run, drawn, rules, WEIGHTS, [LEVEL_M], wishes=wishes)
    assert told.breaks == ()


@settings(max_examples=25)
@given(
    pegs=st.integers(1, 12),
    spacing_m=st.floats(1, 80),
    step_free=st.integers(0, 3),
    sections=st.integers(0, 3),
    keep=st.sampled_from([(), ("1",), ("2",), ("1", "2"), ("all",)]),
    method=st.sampled_from(["float", "ledger"]),
    clearance_m=st.floats(30, 60),
)
@pytest.mark.slow
def test_whatever_is_asked_no_plan_breaks_a_rule(
    bank_run, pegs, spacing_m, step_free, sections, keep, method, clearance_m
):
    path = ("step_free_path", LineString([(1120.0, 65.0), (1180.0, 65.0)]))
    run = bank_run(places=[("overhead_line", LINE), path], depth_of=deeper)
    wishes = BankWishes(clearance_m=clearance_m, method=method)
    pool = layout_pool(run, WEIGHTS, [LEVEL_M], step_m=6.0, wishes=wishes)
    try:
        rules = LayoutRules(
            pegs=pegs,
            spacing_m=spacing_m,
            step_free=step_free,
            sections=sections,
            keep=keep,
        )
        plan = plan_layout(pool, rules)
    except LayoutRefused:
        return
    drawn = plan.table[["peg", "easting", "northing", "bank"]]
    told = check_layout(run, drawn, rules, WEIGHTS, [LEVEL_M], wishes=wishes)
    assert told.breaks == ()
    assert least_apart_m(plan.table) >= spacing_m - 2e-3
