import math
import re

import pypdf
import pytest
from shapely import LineString, Point, box

from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.prints.style import A5_MM, SMALL
from pegscore.prints.swim_page import page_name, write_swim_page
from pegscore.swim import SwimWishes, swim_sheet
from tests.swim_world import LEVEL_M, at, make_run, place
from tests.unit.pegscore.test_swim import timed, unknown
from tests.unit.pegscore.test_swim_words import HOSTILE


def page_of(run, peg="1", units="metric", **wishes):
    sheet = swim_sheet(run, peg, level_m=LEVEL_M, wishes=SwimWishes(**wishes))
    return pypdf.PdfReader(write_swim_page(sheet, run, units=units))


def words(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def full_river(folder):
    things = [
        place("snag", Point(*at(8, 4)), name="sunken limb"),
        place("weed", box(*at(2, 2), *at(6, 6)), from_day="05-01", to_day="10-31"),
        place("steep_bank", LineString([at(-2, -1), at(4, -1)])),
        place("tree", Point(*at(12, 3))),
    ]
    return make_run(folder, places=things)


def test_it_is_one_page_of_a5_with_everything_on_it(tmp_path):
    timed(tmp_path)
    reader = page_of(full_river(tmp_path), baits=["corn", "maggot"], species="barbel")
    (page,) = reader.pages
    box_mm = [
        float(side) / 72 * 25.4 for side in (page.mediabox.width, page.mediabox.height)
    ]
    assert box_mm == pytest.approx(A5_MM, abs=0.1)
    told = words(reader)
    for word in (
        "Peg 1", "Invented Brook", "Survey: on a day not recorded", "right bank",
        "board at 0.60 m", "run line 4.5 m out", "Barbel: score", "Steep bank",
        "1 corn", "2 maggot", "Feeding zone", "SET 1.50 m", "FLOAT about 1.8 g",
        "snag (sunken limb)", "weed, 1 May to 31 October", "gravel", "N", "5 m",
        "flow", "A guide, not a promise", "no proof of safety",
    ):  # fmt: skip
        assert word in told, word
    for caution in GENERAL_CAUTIONS:
        assert caution in told


def test_nothing_is_smaller_than_can_be_read_outdoors(tmp_path):
    sizes = set()

    def visit(text, _, turn, __, size):
        if text.strip():
            sizes.add(round(size * math.hypot(turn[0], turn[1]), 2))

    run = full_river(tmp_path)
    for page in page_of(run, species="barbel").pages:
        page.extract_text(visitor_text=visit)
    assert min(sizes) >= SMALL


def test_a_photocopy_loses_nothing_for_there_is_no_colour(tmp_path):
    reader = page_of(full_river(tmp_path))
    stream = reader.pages[0].get_contents().get_data().decode("latin-1")
    painted = re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", stream)
    assert all(red == green == blue for red, green, blue in painted)
    assert not re.search(r"[\d.]+ [\d.]+ [\d.]+ [\d.]+ [kK]\b", stream)
    assert "/Subtype /Image" not in stream


def test_a_barred_peg_has_that_on_top_and_no_bait_below(tmp_path):
    wire = place("overhead_line", LineString([at(5, -20), at(5, 40)]))
    told = words(page_of(make_run(tmp_path, places=[wire])))
    assert "NO FISHING HERE: overhead line" in told
    assert "maggot" not in told
    assert "FLOAT" not in told


def test_no_caution_is_lost_however_many_there_are(tmp_path):
    many = [
        place("snag", Point(*at(1 + i / 4, 4)), name=f"snag of a long name number {i}")
        for i in range(40)
    ]
    reader = page_of(make_run(tmp_path, places=many))
    told = words(reader)
    assert all(f"number {i})" in told for i in range(40))
    assert "overleaf" in told
    assert len(reader.pages) == 2


def test_a_dry_peg_has_a_page_that_says_so(tmp_path):
    told = words(page_of(make_run(tmp_path, depth=unknown)))
    assert "No water in reach" in told
    assert "flow" not in told.replace("outflow", "")


@pytest.mark.parametrize("baits", [["crust"], ["groundbait", "caster"], ["maggot"] * 2])
def test_any_choice_of_baits_can_be_drawn(tmp_path, baits):
    assert "Feeding zone" in words(page_of(make_run(tmp_path), baits=baits)) or (
        baits == ["crust"]
    )


def test_unknown_pace_and_bottom_are_drawn_as_unknown(tmp_path):
    told = words(page_of(make_run(tmp_path, speed=unknown, bottom="")))
    assert "?" in told
    assert "Pace is not known here" in told
    assert "unknown" in told


def test_feet_are_feet_all_over_the_page(tmp_path):
    told = words(page_of(make_run(tmp_path), units="imperial"))
    assert "ft downstream" in told
    assert "pace, ft/s" in told
    assert "20 ft" in told


@pytest.mark.parametrize(("north", "says"), [(False, "flow →"), (True, "← flow")])
def test_the_river_flows_as_it_is_seen_from_the_peg(tmp_path, north, says):
    assert says in words(page_of(make_run(tmp_path, north=north)))


def test_hostile_names_are_printed_as_data(tmp_path):
    (tmp_path / "baits.toml").write_text(
        '[paste]\ntitle = "\\u202e$\\\\frac{1}{0}$ paste"\n'
        "sink_depth_m = 1.0\nsink_seconds = 9\n",
        encoding="utf-8",
    )
    snag = place("snag", Point(*at(8, 4)), name=HOSTILE)
    names = ("1", HOSTILE)
    run = make_run(tmp_path, river=HOSTILE, places=[snag], names=names)
    for peg in names:
        reader = page_of(run, peg, baits=["paste"])
        told = words(reader)
        assert r"$\frac{1}{0}$" in told
        assert "\u202e" not in told + str(reader.metadata.title)
        assert "\x1b" not in told + str(reader.metadata.title)


def test_every_peg_has_a_file_of_its_own_inside_the_results():
    pegs = [
        "1",
        "01",
        "1 ",
        "12A",
        "12a",
        "a/b",
        "a_b",
        "../a_b",
        "",
        "A" * 300,
        "A" * 301,
        HOSTILE,
    ]
    names = [page_name(peg) for peg in pegs]
    # a disk may take 12A for 12a
    assert len({name.lower() for name in names}) == len(names)
    for name in names:
        assert re.fullmatch(r"swim-[\w-]+\.pdf", name, re.ASCII)
        assert len(name) < 100
