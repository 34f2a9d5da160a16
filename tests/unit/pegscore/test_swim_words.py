import datetime as dt
import unicodedata

import numpy as np
import pytest
from shapely import LineString, Point, box

from pegscore.swim import SwimWishes, swim_sheet
from pegscore.swim_words import sheet_text
from tests.swim_world import LEVEL_M, at, make_run, place
from tests.unit.pegscore.test_swim import timed, unknown


def words_of(run, *, peg="1", units="metric", **wishes):
    sheet = swim_sheet(run, peg, level_m=LEVEL_M, wishes=SwimWishes(**wishes))
    return sheet_text(sheet, units=units)


def test_the_sheet_says_where_feed_lands_and_how_long_a_float_passes_it(tmp_path):
    timed(tmp_path)
    text = words_of(make_run(tmp_path), baits=["corn"])
    # 6 m of drift from 1 m down; 17 m of swim at 0.4667 m/s, less half a metre an end
    assert "corn  0.100 m/s  1.0 m  7.0 m" in text
    assert "15 s   bucket test" in text
    assert "Feeding zone: " in text


def test_the_sheet_says_the_same_in_feet(tmp_path):
    timed(tmp_path)
    text = words_of(make_run(tmp_path), baits=["corn"], units="imperial")
    # 1.5 m, 0.4 m/s and 7 m are 4.92 ft, 1.31 ft/s and 22.97 ft
    assert "4.9 ± 0.3 ft" in text
    assert "1.3 ± 0.2 ft/s" in text
    assert "23.0 ft" in text
    # the published clearance from power lines stays as it was published
    assert "Keep at least 30 m from overhead power lines" in text


def test_a_sheet_is_marked_common_practice_where_it_is_that(tmp_path):
    text = words_of(make_run(tmp_path))
    assert "common practice, no source" in text
    assert "our own proposal, no source: correct it at the water" in text


def test_a_barred_peg_says_so_first_and_tells_no_bait(tmp_path):
    wire = place("overhead_line", LineString([at(5, -20), at(5, 40)]))
    text = words_of(make_run(tmp_path, places=[wire]))
    assert text.splitlines()[1].startswith("NO FISHING HERE: overhead line")
    assert "maggot" not in text
    assert "To net a fish" not in text


def test_a_closed_season_is_told_before_anything_of_the_water(tmp_path):
    text = words_of(make_run(tmp_path), species="barbel", date=dt.date(2026, 4, 1))
    assert "NO: closed season" in text.splitlines()[1]
    assert "opens 16 June 2026" in text.splitlines()[1]
    for advice in ("score", "maggot", "Set the float", "To net a fish"):
        assert advice not in text


def test_cautions_come_before_the_figures_and_the_general_ones_close(tmp_path):
    bank = place("steep_bank", Point(*at(0, -2)))
    text = words_of(make_run(tmp_path, places=[bank]))
    assert text.index("Steep bank") < text.index("Down the run line")
    assert "A guide, not a promise." in text
    assert "no proof of safety" in text


def test_a_bait_that_floats_says_so(tmp_path):
    text = words_of(make_run(tmp_path), baits=["crust"])
    assert "goes with the surface" in text
    assert "No feeding zone" in text


def test_baits_that_part_company_are_told_apart(tmp_path):
    text = words_of(make_run(tmp_path), baits=["groundbait", "caster"])
    assert "part company" in text


def test_unknown_is_called_unknown(tmp_path):
    text = words_of(make_run(tmp_path, speed=unknown, bottom=""))
    assert "unknown" in text
    assert "nan" not in text.lower().replace("finance", "")


def test_weed_reaching_upstream_is_told_without_a_minus(tmp_path):
    weed = place("weed", box(*at(-2, 2), *at(6, 6)))
    text = words_of(make_run(tmp_path, places=[weed]))
    assert "weed: 2–6 m out, 2.0 m up to 6.0 m down" in text


HOSTILE = "Mill\x1b[31m\u202e\r\nweir $\\frac{1}{0}$ <b>"


def test_names_from_files_bring_no_control_characters_to_the_screen(tmp_path):
    snag = place("snag", Point(*at(8, 4)), name=HOSTILE)
    run = make_run(tmp_path, river=HOSTILE, places=[snag], names=("1", HOSTILE))
    for peg in ("1", HOSTILE):
        text = words_of(run, peg=peg)
        bad = [c for c in text if unicodedata.category(c) in ("Cc", "Cf") and c != "\n"]
        assert bad == []


@pytest.mark.parametrize("slow", [0.0, -0.2])
def test_standing_and_returning_water_take_no_feed_anywhere(tmp_path, slow):
    run = make_run(tmp_path, speed=lambda down, _: np.full(down.shape, slow))
    text = words_of(run, baits=["hemp"])
    assert "1.0 m  1.0 m" in text
    assert "A float let go" not in text
