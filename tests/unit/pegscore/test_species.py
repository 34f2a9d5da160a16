"""Species files: shipped, overridden, added and refused."""

from __future__ import annotations

import tomllib

import pytest

from layers.river import SUBSTRATES
from pegscore.curves import MARKS, Curve, CurvePoint
from pegscore.errors import SpeciesRefused, SpeciesUnknown
from pegscore.species import find_species, read_species, shipped_folder

SHIPPED = read_species()
SOURCES = tomllib.loads((shipped_folder().parent / "sources.toml").read_text("utf-8"))
WANTED = {
    "barbel",
    "chub",
    "roach",
    "bream",
    "dace",
    "perch",
    "gudgeon",
    "pike",
    "grayling",
    "brown_trout",
}
OWN = """
title = "Nase"
[depth_m]
points = [[0.2, 0.0], [0.8, 1.0]]
[speed_m_s]
points = [[0.0, 0.2], [0.5, 1.0, "C"]]
[substrate]
clay_mud = 0.0
silt = 0.1
sand = 0.3
fine_gravel = 1.0
coarse_gravel = [0.8, "P"]
cobble = 0.7
boulder = 0.5
bedrock = 0.2
"""


def own_species(folder, name: str, text: str):
    (folder / "species").mkdir(exist_ok=True)
    (folder / "species" / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def test_the_promised_species_are_shipped():
    assert set(SHIPPED) >= WANTED


@pytest.mark.parametrize("name", sorted(SHIPPED))
def test_every_point_bears_a_known_mark_and_every_source_is_listed(name: str):
    species = SHIPPED[name]
    curves = [species.depth_m, species.speed_m_s, species.temperature_c]
    for curve in curves:
        assert curve.marks <= set(MARKS) - {"club"}
        assert set(curve.sources) <= set(SOURCES)
        assert curve.sources
    assert set(species.substrate_marks.values()) <= set(MARKS) - {"club"}


@pytest.mark.parametrize("name", sorted(SHIPPED))
def test_every_surveyed_class_has_a_suitability(name: str):
    substrate = SHIPPED[name].substrate
    assert set(substrate) == set(SUBSTRATES)
    assert all(0 <= value <= 1 for value in substrate.values())


def test_a_few_points_stand_as_the_reference_table_prints_them():
    """Typed by hand from the table of curves, marks included."""
    grayling, bream = SHIPPED["grayling"], SHIPPED["bream"]
    assert CurvePoint(1.0, 1.0, "S") in grayling.depth_m.points
    assert CurvePoint(1.55, 1.0, "S") in grayling.depth_m.points
    assert CurvePoint(1.1, 0.9, "S") in grayling.speed_m_s.points
    assert CurvePoint(1.5, 0.7, "S") in bream.depth_m.points
    assert CurvePoint(2.5, 1.0, "C") in SHIPPED["barbel"].depth_m.points
    assert CurvePoint(0.267, 1.0, "S") in SHIPPED["brown_trout"].speed_m_s.points
    assert SHIPPED["gudgeon"].substrate["sand"] == 1.0


def test_gravel_is_the_mean_of_fine_and_coarse():
    assert SHIPPED["barbel"].substrate["gravel"] == pytest.approx((0.9 + 1.0) / 2)


@pytest.mark.parametrize("name", ["barbel", "chub", "pike"])
def test_published_hot_water_advice_is_a_veto_at_21_degrees(name: str):
    assert SHIPPED[name].hot_above_c == 21.0
    assert SHIPPED[name].hot_is_veto


def test_the_coarse_close_season_is_the_default_and_trout_ask_locally():
    assert SHIPPED["barbel"].season_closed == ((3, 15), (6, 15))
    assert SHIPPED["brown_trout"].season_closed is None
    assert "locally" in SHIPPED["brown_trout"].season_note


def test_a_club_adds_a_species_with_its_own_mark(tmp_path):
    nase = read_species(own_species(tmp_path, "nase", OWN))["nase"]
    assert nase.depth_m == Curve(
        (CurvePoint(0.2, 0, "club"), CurvePoint(0.8, 1, "club"))
    )
    assert nase.evidence == "club"
    assert nase.substrate["gravel"] == pytest.approx(0.9)


def test_a_club_replaces_one_block_and_keeps_the_rest(tmp_path):
    text = "[depth_m]\npoints = [[0.1, 0.0], [1.0, 1.0]]\n"
    barbel = read_species(own_species(tmp_path, "barbel", text))["barbel"]
    assert barbel.depth_m.preferred == (1.0, 1.0)
    assert barbel.speed_m_s == SHIPPED["barbel"].speed_m_s


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("title = ", "species/bad.toml: is not TOML"),
        ('title = "X"\n', "depth_m is missing"),
        (OWN.replace("[0.8, 1.0]", "[0.8, 1.3]"), r"suitability 1.3 lies outside"),
        (OWN.replace("[0.8, 1.0]", "[0.1, 1.0]"), r"x does not rise from 0.2 to 0.1"),
        (OWN.replace('"C"', '"Q"'), r"mark 'Q' is not one of"),
        (OWN.replace("silt = 0.1", 'silt = "some"'), r"silt is 'some'"),
        (OWN.replace("cobble = 0.7\n", ""), r"cobble is missing"),
        (OWN + '[season]\nclosed = ["3-15"]\n', r"closed is \['3-15'\]"),
        (
            OWN.replace("points = [[0.2, 0.0], [0.8, 1.0]]", ""),
            r"depth_m: has no points",
        ),
    ],
)
def test_a_bad_file_is_refused_with_its_place_and_value(tmp_path, text, message):
    with pytest.raises(SpeciesRefused, match=message):
        read_species(own_species(tmp_path, "bad", text))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (OWN.replace("silt = 0.1", "silt = []"), r"silt is \[\]"),
        (OWN.replace("silt = 0.1", "silt = true"), r"silt is True"),
        (OWN.replace("silt = 0.1", "silt = nan"), r"silt is nan"),
        (OWN.replace("silt = 0.1", "silt = [0.1, []]"), r"bears the mark \[\]"),
        (OWN.replace("[0.8, 1.0]", "[0.8, 1.0, []]"), r"mark \[\] is not one of"),
        (OWN.replace("silt = 0.1", "silt = 0.1\nmud = 1"), r"'mud' is not a class"),
        (OWN.replace('"Nase"', "3"), r"title is 3"),
        (OWN.replace('"Nase"', '" "'), r"title is ' '"),
        ('evidence = "Z"\n' + OWN, r"evidence is 'Z'; use one of A, B, C, club"),
        ("heat = 3\n" + OWN, r"heat: 3 is not a table"),
        (OWN + '[heat]\nabove_c = "hot"\n', r"above_c is 'hot'; give degrees"),
        (OWN + "[heat]\nabove_c = 70\n", r"above_c is 70; give degrees Celsius"),
        (OWN + '[heat]\nabove_c = 21\nveto = "no"\n', r"veto is 'no'"),
        (OWN + "[heat]\nveto = true\n", r"above_c is missing"),
        ("season = 3\n" + OWN, r"season: 3 is not a table"),
        (OWN + "[season]\nnote = 3\n", r"note is 3"),
        (OWN + '[season]\nclosed = ["02-30", "06-15"]\n', r"closed is \['02-30'"),
        (OWN + '[season]\nclosed = ["13-01", "06-15"]\n', r"closed is \['13-01'"),
        ("temperature_c = 12\n" + OWN, r"temperature_c: has no points"),
        (
            OWN.replace("[depth_m]", "[depth_m]\nsources = 3"),
            r"depth_m: sources is 3; write a list",
        ),
    ],
)
def test_no_content_of_a_file_gets_past_the_check(tmp_path, text, message):
    with pytest.raises(SpeciesRefused, match=message):
        read_species(own_species(tmp_path, "bad", text))


def test_a_slip_in_a_blocks_name_is_refused_not_passed_over(tmp_path):
    """Else the club would go on with the shipped curve and not know."""
    text = "[dept_m]\npoints = [[0.1, 0.0], [1.0, 1.0]]\n"
    with pytest.raises(SpeciesRefused, match=r"'dept_m'.* did you mean 'depth_m'"):
        read_species(own_species(tmp_path, "barbel", text))


@pytest.mark.parametrize(
    ("name", "better"), [("Barbel", "barbel"), ("my fish-2", "my_fish_2")]
)
def test_a_file_whose_name_cannot_be_asked_for_is_refused(tmp_path, name, better):
    with pytest.raises(SpeciesRefused, match=f"rename the file to {better}.toml"):
        read_species(own_species(tmp_path, name, OWN))


def test_what_a_computer_hides_in_a_folder_is_not_read(tmp_path):
    own_species(tmp_path, "._barbel", "\x00")
    assert set(read_species(tmp_path)) == set(SHIPPED)


def test_a_clubs_cooler_limit_keeps_the_veto_until_it_says_otherwise(tmp_path):
    text = "[heat]\nabove_c = 19\n"
    barbel = read_species(own_species(tmp_path, "barbel", text))["barbel"]
    assert (barbel.hot_above_c, barbel.hot_is_veto) == (19.0, True)
    told = "[heat]\nveto = false\n"
    barbel = read_species(own_species(tmp_path, "barbel", told))["barbel"]
    assert (barbel.hot_above_c, barbel.hot_is_veto) == (21.0, False)


def test_a_clubs_own_depth_takes_the_shipped_grade_away(tmp_path):
    """Grade A says that depth and speed were both seen in a source."""
    assert SHIPPED["grayling"].evidence == "A"
    depth = "[depth_m]\npoints = [[0.1, 0.0], [1.0, 1.0]]\n"
    own = own_species(tmp_path, "grayling", depth)
    assert read_species(own)["grayling"].evidence == "club"


def test_a_clubs_own_season_leaves_the_shipped_grade(tmp_path):
    own = own_species(tmp_path, "grayling", '[season]\nclosed = ["03-01", "06-15"]\n')
    grayling = read_species(own)["grayling"]
    assert grayling.evidence == "A"
    assert grayling.season_closed == ((3, 1), (6, 15))


def test_all_faults_of_a_file_are_told_at_once(tmp_path):
    text = OWN.replace("silt = 0.1", "silt = 7").replace("[0.8, 1.0]", "[0.8, 9.0]")
    with pytest.raises(SpeciesRefused) as caught:
        read_species(own_species(tmp_path, "bad", text))
    assert len(str(caught.value).splitlines()) == 2


def test_a_slip_in_a_name_gets_the_nearest_species():
    with pytest.raises(SpeciesUnknown, match="did you mean 'barbel'"):
        find_species(SHIPPED, "barble")


def test_a_species_is_found_by_its_title_too(tmp_path):
    text = OWN.replace('"Nase"', '"Common nase"')
    species = read_species(own_species(tmp_path, "nase", text))
    assert find_species(species, "common NASE, Brown trout") == ["nase", "brown_trout"]


def test_all_means_every_species():
    assert find_species(SHIPPED, "all") == list(SHIPPED)
