"""What a score leans on can be read, heard and reached by keys on the page."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pegscore.flag_words import BEYOND_SURVEY, unsourced_flag
from pegscore.pages.map import write_map

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture(scope="module")
def flagged_map(world, tmp_path_factory):
    """Peg 3 lies beyond the survey; at the upper level its depth has no source."""
    content = world()
    table = content.ranking
    mine = table["peg"] == "3"
    upper = mine & (table["level_m"] > 1)
    content = replace(
        content,
        ranking=table.assign(
            beyond_survey=mine, unsourced=upper.map({True: "depth", False: ""})
        ),
    )
    return write_map(content, tmp_path_factory.mktemp("flags") / "map.html")


@pytest.mark.parametrize("size", [(390, 844), (1440, 900)])
def test_the_words_stand_in_the_list_and_by_keys_in_the_panel(visit, flagged_map, size):
    page, log = visit(flagged_map, size)
    row = page.get_by_role("button", name=BEYOND_SURVEY.tag).and_(page.locator(".row"))
    assert row.count() == 1
    assert "Peg 3" in row.inner_text()
    row.focus()
    page.keyboard.press("Enter")
    care = page.get_by_role("list").filter(has_text=BEYOND_SURVEY.sentence)
    assert care.is_visible()
    heading = page.get_by_role("heading", name="Take this score with care")
    assert heading.is_visible()
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= size[0]
    assert log.words == []


def test_a_peg_without_a_flag_has_no_such_heading(visit, flagged_map):
    page, _ = visit(flagged_map)
    page.locator(".row").filter(has_text="Peg 2").first.click()
    assert page.locator(".leans").count() == 0


def test_between_two_levels_both_levels_flags_are_told(visit, flagged_map):
    page, _ = visit(flagged_map)
    page.locator(".row").filter(has_text="Peg 3").first.click()
    assert page.locator(".leans li").count() == 1
    page.locator("#level").focus()
    page.keyboard.press("ArrowRight")
    assert page.locator(".leans li").all_inner_texts() == [
        BEYOND_SURVEY.sentence,
        unsourced_flag("depth").sentence,
    ]


def test_the_pegs_mark_on_the_map_is_heard_with_it(visit, flagged_map):
    page, _ = visit(flagged_map)
    mark = page.locator(".peg").filter(has_text="peg 3,").first
    assert mark.get_attribute("role") == "button"
    assert BEYOND_SURVEY.tag in mark.locator(".unseen").inner_text()
