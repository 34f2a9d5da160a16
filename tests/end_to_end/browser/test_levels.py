"""The slider over the river's levels: built ones exactly, between them by one rule."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layers.levels import interpolate_level
from pegscore.pages.map import write_map
from pegscore.pages.warp import WebFrame

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def slide_to(page, metres: float) -> None:
    """Move the slider by its keys until the words say the level."""
    words = f"{metres:.2f} m"
    page.locator("#level").focus()
    page.keyboard.press("Home")
    for _ in range(200):
        if page.locator("#level-words").inner_text() == words:
            return
        page.keyboard.press("ArrowRight")
    raise AssertionError(words)


def shown_scores(page) -> dict[str, float]:
    rows = page.locator(".pegs.scored .row").all()
    return {
        row.locator(".row-title").inner_text(): float(
            row.locator(".row-score").inner_text()
        )
        for row in rows
    }


def test_a_built_level_shows_its_own_scores_picture_and_heading(visit, plain_map):
    page, _ = visit(plain_map)
    scores = shown_scores(page)
    picture = page.evaluate("document.querySelector('canvas.crisp').toDataURL()")
    page.get_by_role("button", name="To the built level above").click()
    assert page.locator("#level-words").inner_text() == "1.20 m"
    assert page.locator("#level-note").inner_text() == "built from the survey"
    assert shown_scores(page) != scores
    now = page.evaluate("document.querySelector('canvas.crisp').toDataURL()")
    assert now != picture
    assert "1.20 m" in page.locator("#facts").inner_text()


def test_between_two_levels_scores_lie_on_a_straight_line(visit, world, plain_map):
    page, _ = visit(plain_map)
    slide_to(page, 0.75)
    table = world().ranking.query("species == 'barbel'")
    wide = table.pivot_table(index="peg", columns="level_m", values="score")
    # a quarter of the way from 0.6 to 1.2
    expected = (0.75 * wide[0.6] + 0.25 * wide[1.2]).drop(["5", "8"])
    shown = shown_scores(page)
    assert set(shown) == {f"Peg {peg}" for peg in expected.index}
    for peg, score in expected.items():
        # scores are kept to a thousandth and shown to a hundredth
        assert shown[f"Peg {peg}"] == pytest.approx(score, abs=0.0061)
    assert list(shown.values()) == sorted(shown.values(), reverse=True)
    ranks = page.locator(".pegs.scored .row .rank").all_text_contents()
    assert ranks == [str(i + 1) for i in range(len(expected))]


def test_between_two_levels_the_page_says_so_everywhere(visit, plain_map):
    page, _ = visit(plain_map)
    slide_to(page, 0.75)
    between = "between the built levels 0.60 m and 1.20 m"
    assert between in page.locator("#level-note").inner_text()
    spoken = page.locator("#level").get_attribute("aria-valuetext")
    assert spoken == f"0.75 m, {between}"
    page.locator("#list .row").first.click()
    panel = page.locator("#panel").inner_text()
    assert between in panel
    assert "the reasons are those at 0.60 m" in panel


@pytest.mark.parametrize(("button", "name"), [("Depth", "depth"), ("Pace", "speed")])
def test_the_water_between_two_levels_is_the_one_the_layers_give(
    visit, world, plain_map, button, name
):
    page, _ = visit(plain_map)
    page.get_by_label(button, exact=True).check(force=True)
    slide_to(page, 0.8)
    drawn = page.evaluate(
        """() => {
            const data = JSON.parse(document.getElementById('data').textContent);
            const canvas = document.querySelector('canvas.crisp');
            const bytes = canvas.getContext('2d')
                .getImageData(0, 0, canvas.width, canvas.height).data;
            return [canvas.width, canvas.height, [...bytes],
                data.layers.overlays];
        }"""
    )
    width, height, pixels, overlays = drawn
    (overlay,) = [one for one in overlays if one["name"] == name]
    colours = [tuple(bytes.fromhex(c[1:])) for c in overlay["colours"]]
    rgba = np.array(pixels, np.uint8).reshape(height, width, 4)
    classes = np.full((height, width), -1)
    for i, colour in enumerate(colours):
        classes[(rgba[..., :3] == colour).all(axis=-1) & (rgba[..., 3] > 0)] = i
    expected = expected_classes(world(), name, overlay["edges"])
    agree = (classes == expected)[(classes >= 0) | (expected >= 0)].mean()
    # a value at the edge of a class may fall on either side of it: a step of the
    # packing is 1 cm in classes of 50 cm
    assert agree > 0.97
    assert len(set(classes[classes >= 0])) >= 3


def expected_classes(content, name: str, edges: list[float]) -> np.ndarray:
    values = interpolate_level(with_errors(content.stack), 0.8)[name]
    drawn = WebFrame(content.stack.grid).sample(values)
    classes = np.searchsorted(edges, drawn, side="right") - 1
    return np.where(np.isfinite(drawn), classes, -1)


def with_errors(stack):
    levels = {
        level: {**layers, "speed_sd": np.zeros_like(layers["speed"])}
        for level, layers in stack.by_level.items()
    }
    return replace(stack, by_level=levels)


def test_a_level_beyond_all_measured_says_its_caution(visit, world, tmp_path):
    told = {1.2: "Above every level measured here: banks are dangerous."}
    path = write_map(world(level_cautions=told), tmp_path / "map.html")
    page, _ = visit(path)
    assert not page.locator("#level-cautions").is_visible()
    page.locator("#level").press("ArrowRight")
    assert "banks are dangerous" in page.locator("#level-cautions").inner_text()
    page.locator("#level-down").click()
    assert not page.locator("#level-cautions").is_visible()


def test_one_level_alone_has_no_slider(visit, world, tmp_path):
    ranking = world().ranking.query("level_m == 0.6")
    path = write_map(world(ranking=ranking), tmp_path / "map.html")
    page, log = visit(path)
    assert not page.locator("#level").is_visible()
    assert page.locator(".pegs.scored .row").count() == 9
    assert log.words == []


def test_the_slider_can_be_dragged_and_touched(visit, plain_map):
    page, _ = visit(plain_map)
    box = page.locator("#level").bounding_box()
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + 22, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2, middle, steps=5)
    page.mouse.up()
    assert page.locator("#level-words").inner_text() == "0.90 m"
