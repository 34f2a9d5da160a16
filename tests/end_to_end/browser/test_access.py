"""For every eye and hand: an outside checker, both looks, large targets, where am I."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from pegscore.pages.map import write_map

DESK, PHONE = (1440, 900), (390, 844)
ROOT = Path(__file__).parents[3]

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture(scope="module")
def axe() -> str:
    """The accessibility checker axe-core, as npm installs it beside the tests."""
    held = ROOT / "node_modules" / "axe-core" / "axe.min.js"
    path = Path(os.environ.get("AXE_CORE", held))
    if not path.is_file():
        pytest.skip("axe-core is not installed: npm install --no-save axe-core")
    return path.read_text(encoding="utf-8")


def faults(page, axe: str) -> list[str]:
    """Return the serious and critical faults, each with what it is found on."""
    page.evaluate(axe)
    found = page.evaluate("axe.run().then(answer => answer.violations)")
    return [
        f"{fault['id']}: {fault['help']}: {fault['nodes'][0]['html'][:120]}"
        for fault in found
        if fault["impact"] in ("serious", "critical")
    ]


@pytest.mark.parametrize("size", [DESK, PHONE])
@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_checker_finds_no_serious_fault(visit, plain_map, axe, size, look):
    page, _ = visit(plain_map, size, color_scheme=look)
    assert faults(page, axe) == []
    page.locator("#list .row").first.click()
    page.locator("#about").evaluate("node => { node.open = true; }")
    page.locator("#here").click()
    page.wait_for_timeout(300)  # until the popup has faded in
    assert faults(page, axe) == []


def test_the_page_without_scripts_has_no_serious_fault(visit, plain_map, axe):
    page, _ = visit(plain_map)
    page.evaluate("document.documentElement.classList.remove('live')")
    assert faults(page, axe) == []


def shade(page, selector: str) -> int:
    colour = page.evaluate(
        "s => getComputedStyle(document.querySelector(s)).backgroundColor", selector
    )
    return sum(int(part) for part in colour.strip("rgba()").split(",")[:3])


@pytest.mark.parametrize(("wish", "dark"), [("light", False), ("dark", True)])
def test_the_look_follows_the_device_until_it_is_chosen(visit, plain_map, wish, dark):
    page, _ = visit(plain_map, color_scheme=wish)
    assert (shade(page, "body") < 150) is dark
    page.get_by_label("Sun", exact=True).check(force=True)
    assert shade(page, "body") == 765
    page.get_by_label("Dark", exact=True).check(force=True)
    assert shade(page, "body") < 150
    page.get_by_label("Auto", exact=True).check(force=True)
    page.emulate_media(color_scheme="light" if dark else "dark")
    other = "sun" if dark else "dark"
    page.wait_for_selector(f"html[data-theme={other}]", state="attached")
    assert (shade(page, "body") < 150) is not dark


def test_paper_is_white_whatever_the_look(visit, plain_map):
    page, _ = visit(plain_map, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    assert shade(page, "body") == 765
    ink = page.evaluate("getComputedStyle(document.body).color")
    assert ink == "rgb(0, 0, 0)"


def near_peg_three(page) -> dict[str, float]:
    latitude, longitude = page.evaluate(
        "JSON.parse(document.getElementById('data').textContent).pegs[2].at"
    )
    # 0.0001 degrees of latitude are 11.1 m of the Earth's meridian
    return {"latitude": latitude + 0.0001, "longitude": longitude, "accuracy": 8}


def test_where_i_am_asks_first_and_names_the_nearest_peg(visit, plain_map):
    page, log = visit(plain_map, permissions=["geolocation"])
    page.context.set_geolocation(near_peg_three(page))
    page.locator("#here").click()
    assert "nothing is sent" in page.locator("#here-words").inner_text()
    assert page.locator(".here-spot").count() == 0
    page.get_by_role("button", name="Show it").click()
    page.locator(".here-spot").wait_for()
    words = page.locator("#here-words").inner_text()
    assert "Nearest: Peg 3, 11 m away" in words
    assert "Good to about 8 m" in words
    assert page.locator(".here-reach").count() == 1
    page.get_by_role("button", name="Open it").click()
    assert page.locator("#panel-title").inner_text() == "Peg 3"
    page.locator("#here").click()
    assert page.locator(".here-spot").count() == 0
    assert not page.locator("#here-words").is_visible()
    assert [u for u in log.requests if not u.startswith(("file:", "data:"))] == []
    assert log.words == []


def test_no_is_an_answer(visit, plain_map):
    page, _ = visit(plain_map, permissions=["geolocation"])
    page.locator("#here").click()
    page.get_by_role("button", name="No", exact=True).click()
    assert not page.locator("#here-words").is_visible()
    assert page.locator(".here-spot").count() == 0


def test_a_device_that_refuses_is_met_with_words_and_the_map_goes_on(visit, plain_map):
    page, log = visit(plain_map)  # no permission given
    page.locator("#here").click()
    page.get_by_role("button", name="Show it").click()
    page.get_by_text("find your peg by its number").wait_for()
    page.locator("#list .row").first.click()
    assert page.locator("#panel").is_visible()
    assert log.words == []


def test_far_from_the_water_it_says_so(visit, plain_map):
    page, _ = visit(plain_map, permissions=["geolocation"])
    page.context.set_geolocation({"latitude": 0.0, "longitude": 0.0, "accuracy": 50})
    page.locator("#here").click()
    page.get_by_role("button", name="Show it").click()
    page.get_by_text("You are not on this water").wait_for()
    assert "km away" in page.locator("#here-words").inner_text()


@pytest.mark.parametrize("size", [DESK, PHONE])
@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_checker_finds_no_serious_fault_on_the_board(
    visit, world, board_for, tmp_path, axe, size, look
):
    board = board_for(world(), places=100)
    path = write_map(world(edition="committee", board=board), tmp_path / "map.html")
    page, _ = visit(path, size, color_scheme=look)
    page.get_by_role("button", name="Open the board").click()
    page.locator(".plan-row").nth(2).click()
    assert faults(page, axe) == []
    small = page.evaluate(
        """() => [...document.querySelectorAll(
                '#board button, #board input, .plan-peg')]
            .map(node => node.getBoundingClientRect())
            .filter(box => box.height && (box.height < 44 || box.width < 44)).length"""
    )
    assert small == 0
