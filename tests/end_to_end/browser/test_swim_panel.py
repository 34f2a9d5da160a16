"""Creases on the water, and a peg's run line, depth to set and drift in the panel."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import pytest
from shapely import LineString, Point

from pegscore.pages.map import write_map

pytestmark = [pytest.mark.browser, pytest.mark.slow]

HOSTILE = "<img src=x onerror=alert(1)>{{ 7*7 }}"


@pytest.fixture(scope="module")
def swim_map(world, tmp_path_factory):
    """At 0.6 m a crease, a slack and peg 3's run; at 1.2 m nothing was looked for."""
    plain = world()
    seat = plain.pegs.geometry.loc["3"]
    lines = gpd.GeoDataFrame(
        {"kind": ["crease"]},
        geometry=[LineString([(620100, 500040), (620140, 500035)])],
        crs=plain.crs,
    )
    areas = gpd.GeoDataFrame(
        {"kind": ["slack"]}, geometry=[Point(620200, 500020).buffer(5)], crs=plain.crs
    )
    record = {
        "level_m": 0.6,
        "barred": None,
        "out_m": 4.5,
        "points": [[seat.x + 2 * i, seat.y - 4, 2.0 * i, 0.9, 0.4] for i in range(6)],
        "set_m": {"clear": 0.74, "usual": 0.84, "deepest": 0.9},
        "pass_s": 27.4,
        "feeds": [
            feed(HOSTILE, from_m=4.5, at_m=6.3, to_m=8.7),
            feed("bread", from_m=1.0, at_m=1.0, to_m=1.0, floats=True),
        ],
        "zone": {"from_m": 4.5, "to_m": 8.7, "shared_from_m": 5, "shared_to_m": 6},
        "weight_g": 1.04,
        "notes": [HOSTILE],
    }
    content = world(
        structures={0.6: SimpleNamespace(lines=lines, areas=areas)},
        runs={0.6: {"3": record, "1": {**record, "barred": "spawning"}}},
    )
    return write_map(content, tmp_path_factory.mktemp("swim") / "map.html")


def feed(title: str, *, from_m: float, at_m: float, to_m: float, floats=False) -> dict:
    return {
        "title": title,
        "thrown_m": 1.0,
        "from_m": from_m,
        "at_m": at_m,
        "to_m": to_m,
        "floats": floats,
    }


def test_creases_and_slacks_are_drawn_and_named_at_the_level_they_were_found(
    visit, swim_map
):
    page, log = visit(swim_map)
    page.get_by_label("Creases", exact=True).check(force=True)
    assert page.locator("path.structure.crease").count() == 2  # the water and the key
    assert "Crease: fast water beside slow" in page.locator("#key").inner_text()
    assert "Slack water" in page.locator("#key").inner_text()
    page.locator("#level-up").click()
    assert page.locator("path.structure.crease").count() == 0
    assert "nothing found" in page.locator("#key").inner_text()
    assert log.words == []


def test_the_panel_tells_how_the_swim_is_run(visit, swim_map):
    page, log = visit(swim_map)
    page.locator("#list .row[data-position='2']").click()
    told = page.locator(".run").inner_text()
    assert "4.5 m out" in told
    assert "0.84 m; clear of the bottom at 0.74 m, deepest 0.90 m" in told
    assert "about 27 s" in told
    assert "4.5–8.7 m downstream" in told
    rows = page.locator(".feeds tbody tr").all_inner_texts()
    # thrown at 1.0 m and landing at 6.3 m it drifts 5.3 m
    assert rows[0].split("\t") == [HOSTILE, "5.3 m", "6.3 m (4.5–8.7 m)"]
    assert rows[1].split("\t") == ["bread", "floats off", "–"]
    assert HOSTILE in page.locator(".run p").first.inner_text()
    assert log.dialogs == []


def test_the_run_line_is_drawn_where_it_was_found(visit, swim_map):
    page, _ = visit(swim_map)
    page.locator("#list .row[data-position='2']").click()
    assert page.locator("path.run-line").count() == 1
    assert page.locator("path.zone-line").count() == 1
    run = page.evaluate(
        """() => {
            const box = selector =>
                document.querySelector(selector).getBoundingClientRect();
            const [line, peg] = [box('path.run-line'), box('.mark.chosen')];
            const metre = riverMap.distance(
                riverMap.containerPointToLatLng([0, 300]),
                riverMap.containerPointToLatLng([100, 300])) / 100;
            return [line.width * metre,
                (line.top + line.height / 2 - peg.top - peg.height / 2) * metre];
        }"""
    )
    # ten metres long and four south of the seat; the map's north turns by 2 degrees
    # and a line is three pixels broad
    assert run[0] == pytest.approx(10.0, abs=2.0)
    assert run[1] == pytest.approx(4.0, abs=2.0)


def test_a_peg_without_a_run_or_barred_has_none(visit, swim_map):
    page, _ = visit(swim_map)
    for position in (0, 1):
        page.locator(f"#list .row[data-position='{position}']").click()
        assert page.locator(".run").count() == 0
        assert page.locator("path.run-line").count() == 0
    assert "spawning" not in swim_map.read_text(encoding="utf-8")
