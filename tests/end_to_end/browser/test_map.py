"""The map opened by a real browser with the network cut: what a person would do."""

from __future__ import annotations

import pytest

from pegscore.pages.map import write_map
from pegscore.pages.tiles import Tiles

DESK, PHONE = (1440, 900), (390, 844)

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def choose_everything(page) -> None:
    for value in ("1", "2", "0"):
        page.select_option("#species", value)
    page.locator("#level-up").click()
    page.locator("#level").press("ArrowLeft")
    looks = ("Dark", "Sun", "Auto")
    for name in ("Bottom", "Pace", "Nothing", "Depth", "Feet", "Metres", *looks):
        page.get_by_label(name, exact=True).check(force=True)
    for row in page.locator("#list .row").all():
        row.click()


def outside(log) -> list[str]:
    return [url for url in log.requests if not url.startswith(("file:", "data:"))]


def test_nothing_is_asked_of_the_network_and_nothing_goes_wrong(visit, plain_map):
    page, log = visit(plain_map)
    choose_everything(page)
    assert page.locator("html.ready").count() == 1
    assert outside(log) == []
    assert len([url for url in log.requests if url.startswith("file:")]) == 1
    assert log.words == []


def test_hostile_text_shows_as_text_and_runs_nowhere(visit, hostile_map):
    page, log = visit(hostile_map)
    choose_everything(page)
    page.locator("#about").evaluate("node => { node.open = true; }")
    seen = page.locator("body").inner_text()
    for text in ("<img src=x onerror=alert(1)>", "{{ 7*7 }}", "{% for x in y %}"):
        assert text in seen
    assert "</script><script>alert(1)</script>" in seen
    assert "49" not in page.locator("#list").inner_text().split()
    assert page.locator("img[src='x']").count() == 0
    assert (log.dialogs, log.words, outside(log)) == ([], [], [])


def test_every_hostile_peg_name_reads_back_unchanged(visit, hostile_map):
    page, _ = visit(hostile_map)
    names = page.evaluate(
        "JSON.parse(document.getElementById('data').textContent).pegs.map(p => p.name)"
    )
    shown = page.locator("#list .row-title bdi").evaluate_all(
        "nodes => nodes.map(node => node.textContent)"
    )
    assert sorted(shown) == sorted(names)
    assert any("onerror" in name for name in names)


def test_without_scripts_hostile_text_is_text_and_the_tables_read(visit, hostile_map):
    page, log = visit(hostile_map, java_script_enabled=False)
    assert page.locator("#still table").count() == 3
    assert page.locator("#still-map").is_visible()
    assert not page.locator("#live").is_visible()
    assert "<img src=x onerror=alert(1)>" in page.locator("#still").inner_text()
    assert page.locator("img").count() == 0
    assert outside(log) == []


def test_a_planted_script_and_picture_are_stopped_by_the_policy(visit, plain_map):
    page, log = visit(plain_map)
    page.evaluate(
        """() => {
            const script = document.createElement('script');
            script.textContent = 'window.planted = true';
            document.body.append(script);
            const picture = new Image();
            picture.src = 'https://example.invalid/a.png';
            document.body.append(picture);
            fetch('https://example.invalid/b').catch(() => {});
        }"""
    )
    page.wait_for_timeout(200)
    assert page.evaluate("window.planted") is None
    assert len([words for words in log.words if "Content Security" in words]) >= 3
    assert log.reached == []


def test_another_fish_reorders_the_list_and_says_its_verdict(visit, plain_map):
    page, _ = visit(plain_map)
    before = page.locator("#list .row-title").all_inner_texts()
    assert not page.locator("#verdict").is_visible()
    page.select_option("#species", label="Roach")
    after = page.locator("#list .row-title").all_inner_texts()
    assert before != after
    assert sorted(before) == sorted(after)
    assert page.locator("#verdict").inner_text() == "Closed season until 15 June."


def test_each_layer_brings_its_picture_and_its_legend(visit, plain_map):
    page, _ = visit(plain_map)
    legends = {"Bottom": "gravel", "Pace": "m/s", "Depth": "Depth, m"}
    for name, words in legends.items():
        page.get_by_label(name, exact=True).check(force=True)
        assert page.locator("canvas.crisp").count() == 1
        assert words in page.locator("#key").inner_text()
    page.get_by_label("Nothing", exact=True).check(force=True)
    assert page.locator("canvas.crisp").count() == 0


def test_the_picture_lies_on_the_water(visit, plain_map):
    page, _ = visit(plain_map)
    gap = page.evaluate(
        """() => {
            const picture = document.querySelector('canvas.crisp')
                .getBoundingClientRect();
            const water = document.querySelector('.leaflet-ground-pane path')
                .getBoundingClientRect();
            const metre = water.width / 500;
            return [(picture.left - water.left) / metre,
                    (picture.right - water.right) / metre,
                    (picture.top - water.top) / metre,
                    (picture.bottom - water.bottom) / metre];
        }"""
    )
    # the grid stands 4 to 6 m outside the water, and 500 m of easting turn by 2°
    assert all(abs(metres) < 25 for metres in gap)
    assert gap[0] < 0 < gap[1]
    assert gap[2] < 0 < gap[3]


def test_a_touch_on_the_water_tells_its_class(visit, plain_map):
    page, _ = visit(plain_map)
    page.get_by_label("Bottom", exact=True).check(force=True)
    spot = page.locator(".leaflet-marker-pane .flow").nth(0).bounding_box()
    page.mouse.click(spot["x"] + 22, spot["y"] + 22)
    words = page.locator(".leaflet-popup").inner_text()
    assert "Bottom here" in words
    assert any(name in words for name in ("silt", "sand", "gravel", "cobble"))


def test_a_peg_of_the_list_opens_with_reasons_interval_and_limit(visit, plain_map):
    page, _ = visit(plain_map)
    page.locator("#list .row").filter(has_text="Peg 9").click()
    panel = page.locator("#panel").inner_text()
    assert "80 % interval" in panel
    assert "1.8 m over gravel, steady pace." in panel
    assert page.locator(".limits").inner_text().startswith("Pace")
    assert "holds this peg back" in page.locator(".limits").inner_text()
    assert page.locator("#panel .interval").is_visible()
    assert "steady pace" in page.locator(".leaflet-popup").inner_text()
    assert page.evaluate("document.activeElement.id") == "panel-title"
    page.keyboard.press("Escape")
    assert not page.locator("#panel").is_visible()
    assert "Peg 9" in page.evaluate("document.activeElement.textContent")


def test_a_peg_of_the_map_opens_too(visit, plain_map):
    page, _ = visit(plain_map)
    page.locator(".mark[data-position='2']").click()
    panel = page.locator("#panel").inner_text()
    assert panel.startswith("Peg 3")
    assert "Deep water at the edge." in panel


def test_a_barred_peg_is_never_among_the_recommended(visit, plain_map):
    page, _ = visit(plain_map)
    for value in ("0", "1", "2"):
        page.select_option("#species", value)
        scored = page.locator(".pegs.scored .row-title").all_inner_texts()
        assert "Peg 5" not in scored
        assert "Peg 8" not in scored
        assert page.locator(".pegs.blocked .row-title").all_inner_texts() == ["Peg 5"]
    page.locator(".mark[data-position='4']").click()
    assert "Do not fish this peg." in page.locator("#panel").inner_text()
    assert page.locator("#panel .big").count() == 0


def test_a_peg_without_a_score_says_so_and_why(visit, plain_map):
    page, _ = visit(plain_map)
    page.locator(".pegs.unscored .row").click()
    panel = page.locator("#panel").inner_text()
    assert "not scored" in panel
    assert "The water there was not surveyed." in panel
    assert "NaN" not in page.locator("body").inner_text()


def test_search_narrows_the_list_and_enter_opens_the_peg(visit, plain_map):
    page, _ = visit(plain_map)
    page.get_by_label("Find a peg").fill("1")
    assert page.locator("#list .row").count() == 4  # 1, 10, 11, 12
    page.keyboard.press("Enter")
    assert page.locator("#panel-title").inner_text() == "Peg 1"
    page.get_by_label("Find a peg").fill("nowhere")
    assert page.locator("#count").inner_text() == "0 of 12 pegs found"


def test_feet_are_feet(visit, plain_map):
    page, _ = visit(plain_map)
    page.get_by_label("Feet", exact=True).check(force=True)
    page.locator("#list .row").filter(has_text="Peg 9").click()
    panel = page.locator("#panel").inner_text()
    assert "4 ft 7 in" in panel  # 1.40 m is 55.1 inches
    assert "1.6 ft/s" in panel  # 0.50 m/s is 1.64 feet a second
    assert "Depth, ft" in page.locator("#key").inner_text()
    assert "ft" in page.locator(".leaflet-control-scale").inner_text()


def test_the_whole_of_it_works_from_the_keyboard(visit, plain_map):
    page, _ = visit(plain_map)
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        node = page.evaluate(
            "document.activeElement.id || document.activeElement.name || "
            "document.activeElement.className"
        )
        reached.add(node)
        if node == "row":
            break
    assert {"species", "level", "find", "units", "layer", "river-map"} <= reached
    page.keyboard.press("Enter")
    assert page.locator("#panel").is_visible()


def test_everything_to_touch_is_large_enough_and_named(visit, plain_map):
    page, _ = visit(plain_map, PHONE, has_touch=True, is_mobile=True)
    page.locator("#list .row").first.click()
    small = page.evaluate(
        """() => [...document.querySelectorAll(
                'button, select, input, summary, .leaflet-bar a, .peg')]
            .filter(node => node.offsetParent)
            .filter(node => {
                const box = node.getBoundingClientRect();
                return box.width < 44 || box.height < 44;
            }).map(node => node.outerHTML)"""
    )
    assert small == []
    nameless = page.evaluate(
        """() => [...document.querySelectorAll('button, select, input, .peg, a')]
            .filter(node => !(node.getAttribute('aria-label') || node.textContent.trim()
                || (node.labels && node.labels.length)))
            .map(node => node.outerHTML)"""
    )
    assert nameless == []


@pytest.mark.parametrize("size", [DESK, PHONE, (844, 390), (1024, 768), (320, 568)])
@pytest.mark.parametrize("kind", ["plain_map", "hostile_map"])
def test_no_size_of_screen_scrolls_sideways(visit, request, size, kind):
    page, _ = visit(request.getfixturevalue(kind), size)
    for selector in ("html", "#side", "#panel"):
        wide, held = page.evaluate(
            "s => { const n = document.querySelector(s);"
            " return [n.scrollWidth, n.clientWidth]; }",
            selector,
        )
        assert wide <= held, selector
        if selector == "#side":
            page.locator("#list .row").first.click()
    assert page.locator("#river-map").bounding_box()["height"] > 120


def test_paper_gets_the_still_map_the_list_and_no_controls(visit, plain_map):
    page, _ = visit(plain_map)
    page.select_option("#species", label="Chub")
    page.emulate_media(media="print")
    assert page.locator("#still-map").is_visible()
    assert not page.locator("#river-map").is_visible()
    assert not page.locator("#choices").is_visible()
    assert page.locator("#ranked-title").inner_text() == "Pegs for Chub"
    assert page.locator("#list .row").last.is_visible()
    assert len(page.pdf(format="A4")) > 10_000


def test_many_pegs_are_drawn_on_canvas_and_still_open(visit, world, tmp_path):
    path = write_map(world(pegs=400), tmp_path / "map.html")
    page, log = visit(path)
    # of 400 only the barred one keeps a mark of its own
    assert page.locator(".leaflet-marker-pane .peg").count() == 1
    assert page.locator(".leaflet-overlay-pane canvas").count() == 1
    page.locator("#list .row").first.click()
    assert page.locator("#panel").is_visible()
    assert log.words == []


def test_a_river_on_which_nothing_is_ranked_still_opens(visit, world, tmp_path):
    unranked = world(ranking=world().ranking.iloc[:0])
    page, log = visit(write_map(unranked, tmp_path / "map.html"))
    assert page.locator("#count").inner_text() == "No peg has been scored."
    page.locator("#list .row").first.click()
    assert "not scored" in page.locator("#panel").inner_text()
    assert page.locator("canvas.crisp").count() == 1
    assert log.words == []


def test_touching_one_peg_after_another_moves_the_one_highlight(visit, plain_map):
    page, _ = visit(plain_map)
    for position in (1, 5):
        page.locator(f"#list .row[data-position='{position}']").click()
        chosen = page.locator(".mark.chosen").evaluate_all(
            "nodes => nodes.map(node => node.dataset.position)"
        )
        assert chosen == [str(position)]
        assert page.locator(".row[aria-pressed=true]").count() == 1


def test_a_peg_of_the_list_is_shown_from_nearer_where_marks_lie_close(
    visit, world, tmp_path
):
    page, log = visit(write_map(world(pegs=80), tmp_path / "map.html"), PHONE)
    assert page.locator("#river-map.crowded").count() == 1
    before = page.evaluate("riverMap.getZoom()")
    page.locator("#list .row").nth(3).click()
    assert page.evaluate("riverMap.getZoom()") == before + 1.5
    assert page.locator(".mark.chosen").is_visible()
    assert log.words == []


def test_background_pictures_are_fetched_only_once_switched_on(visit, world, tmp_path):
    tiles = Tiles(address="https://tiles.invalid/{z}/{x}/{y}.png", credit="<b>Us</b>")
    page, log = visit(write_map(world(tiles=tiles), tmp_path / "map.html"))
    choose_everything(page)
    assert log.reached == []
    assert "tiles.invalid then learns" in page.locator("#choices").inner_text()
    assert "<b>Us</b>" in page.locator("#choices").inner_text()
    page.get_by_label("On", exact=True).check(force=True)
    page.wait_for_timeout(200)
    assert log.reached
    assert all(url.startswith("https://tiles.invalid/") for url in log.reached)
    page.get_by_label("Off", exact=True).check(force=True)
    assert page.locator(".leaflet-tiles-pane img").count() == 0
    before = len(log.reached)
    page.evaluate("void riverMap.zoomOut(1, { animate: false })")
    assert len(log.reached) == before
