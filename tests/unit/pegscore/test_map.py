"""What goes into the map's file, and what never does."""

from __future__ import annotations

import base64
import importlib.util
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from pyproj import Transformer
from shapely import Point, Polygon

from layers.grid import Bounds, Grid
from pegscore.errors import MapRefused
from pegscore.pages.map import page_of, write_map
from pegscore.pages.text import plain
from pegscore.pages.warp import WebFrame


def _world():
    path = Path(__file__).parents[2] / "map_world.py"
    spec = importlib.util.spec_from_file_location("map_world", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.world


world = _world()


class Attributes(HTMLParser):
    """Collects every attribute of every element."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.found += [(tag, name, value or "") for name, value in attrs]


@pytest.fixture(scope="module")
def page() -> str:
    return page_of(world())


def data_of(page: str) -> dict:
    start = page.index('id="data">') + len('id="data">')
    return json.loads(page[start : page.index("</script>", start)])


def column_of(page: str, number: int) -> np.ndarray:
    """Decode a column as the page's script does: two bytes, little-endian."""
    text = data_of(page)["scores"]["columns"][number]
    return np.frombuffer(base64.b64decode(text), "<u2")


def test_no_attribute_of_the_page_reaches_outside_it(page):
    reaching = {"src", "href", "srcset", "action", "data", "poster", "xlink:href"}
    values = [value for _, name, value in Attributes(page).found if name in reaching]
    assert values
    assert all(value.startswith(("#", "data:")) for value in values)


def test_no_style_fetches_and_no_handler_is_written_in_the_page(page):
    styles = "".join(re.findall(r"<style>(.*?)</style>", page, re.DOTALL))
    assert "@import" not in styles
    assert re.findall(r"url\(([^)]*)\)", styles) == ["#default#VML"]
    assert not [name for _, name, _ in Attributes(page).found if name.startswith("on")]
    assert not [name for _, name, _ in Attributes(page).found if name == "style"]


def test_the_only_addresses_are_those_in_leaflets_own_text(page):
    hosts = set(re.findall(r"https?://([a-z0-9.]+)", page))
    # Leaflet names its own home in its banner and its credit, and two namespaces
    assert hosts <= {"leafletjs.com", "www.w3.org"}
    assert "sourceMappingURL" not in page


def test_two_builds_are_the_same_bytes(tmp_path):
    first = write_map(world(), tmp_path / "one.html").read_bytes()
    second = write_map(world(), tmp_path / "two.html").read_bytes()
    assert first == second


def test_a_refused_map_leaves_the_old_file_as_it_was(tmp_path, monkeypatch):
    path = write_map(world(), tmp_path / "map.html")
    before = path.read_bytes()
    # a lone surrogate cannot be encoded: the write fails half way
    monkeypatch.setattr("pegscore.pages.map.page_of", lambda _: "\ud800")
    with pytest.raises(UnicodeEncodeError):
        write_map(world(), path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_members_never_get_spawning_grounds_notes_or_returns():
    told = {"3": ("Barbel: 12 fish in 60 hours",)}
    members = page_of(world(edition="members", returns=told))
    committee = page_of(world(edition="committee", returns=told))
    for secret in ("redd field", "Spawning ground", "under the stone", "12 fish in 60"):
        assert secret not in members
        assert secret in committee


@pytest.mark.parametrize("kind", ["Spawning", " spawning "])
def test_a_careless_spelling_of_spawning_is_kept_back_too(kind):
    spot = Point(620100, 500020)
    hazards = gpd.GeoDataFrame(
        {"kind": [kind], "name": ["redd field"]}, geometry=[spot], crs="EPSG:27700"
    )
    assert "redd field" not in page_of(world(hazards=hazards))
    assert data_of(page_of(world(hazards=hazards)))["places"] == []


def test_a_peg_without_a_score_reads_not_scored_with_its_reason(page):
    still = page[page.index('<div id="still">') : page.index('id="data">')]
    row = re.search(r"<tr><td>[^<]*</td><td>10</td>.*?</tr>", still).group()
    assert "not scored" in row
    assert "The water there was not surveyed." in row
    assert "nan" not in re.sub(r"<[^>]*>", " ", still).lower().split()
    first = data_of(page)["scores"]["tables"][0][0]
    # 0 stands for the unknown
    assert column_of(page, first["score"])[9] == column_of(page, first["rank"])[9] == 0


def test_barred_and_closed_pegs_have_no_score_in_the_still_tables(page):
    still = page[page.index('<div id="still">') : page.index('id="data">')]
    for peg, words in (("5", "do not fish"), ("8", "closed")):
        rows = re.findall(rf"<tr><td>([^<]*)</td><td>{peg}</td><td>([^<]*)<", still)
        assert rows == [("–", words)] * 3
    first_table = still[still.index("<tbody>") : still.index("</tbody>")]
    assert first_table.rindex("<td>do not fish</td>") > first_table.rindex("<td>9</td>")


def test_the_levels_come_lowest_first_and_the_start_can_be_chosen(page):
    assert data_of(page)["levels"] == [0.6, 1.2]
    assert data_of(page)["start"] == 0
    assert data_of(page_of(world(start_level_m=1.2)))["start"] == 1


def test_hostile_text_appears_only_escaped():
    bad = "</script><img src=x onerror=alert(1)>{{ 7*7 }}"
    page = page_of(world(say=lambda text: text + bad))
    assert bad not in page
    assert "<img" not in page
    assert data_of(page)["pegs"][0]["name"] == "1" + bad
    assert data_of(page)["river"].endswith("{{ 7*7 }}")
    # the end tags are those of our own scripts, the data and nothing else
    assert len(re.findall("</script", page)) == len(re.findall("<script", page)) == 4


def test_control_characters_are_replaced(tmp_path):
    path = write_map(world(say=lambda text: text + "\x00\x1b\x01"), tmp_path / "m.html")
    text = path.read_text(encoding="utf-8")
    assert not re.search("[\x00\x1b\x01]", text)
    assert data_of(text)["pegs"][0]["name"] == "1\ufffd\ufffd\ufffd"


def test_half_a_letter_becomes_a_mark():
    assert plain("a\ud800b") == "a\ufffdb"


def test_islands_stay_holes_and_positions_are_latitude_first():
    ring = [(0, 0), (200, 0), (200, 40), (0, 40)]
    hole = [(90, 15), (110, 15), (110, 25), (90, 25)]
    moved = [[(620000 + x, 500000 + y) for x, y in part] for part in (ring, hole)]
    data = data_of(page_of(world(water=Polygon(moved[0], [moved[1]]))))
    (part,) = data["water"]["parts"]
    assert len(part) == 2
    to_degrees = Transformer.from_crs("EPSG:27700", "EPSG:4326", always_xy=True)
    longitude, latitude = to_degrees.transform(*moved[1][0])
    nearest = min(part[1], key=lambda p: abs(p[0] - latitude) + abs(p[1] - longitude))
    # six decimals of a degree
    np.testing.assert_allclose(nearest, [latitude, longitude], rtol=0, atol=1e-6)


def test_a_ranking_without_a_column_is_refused_by_name():
    ranking = world().ranking.drop(columns=["why"])
    with pytest.raises(MapRefused, match="the ranking has no column why"):
        world(ranking=ranking)


def test_a_ranked_peg_that_is_not_drawn_is_refused_by_name():
    ranking = world().ranking.replace({"peg": {"3": "33"}})
    with pytest.raises(MapRefused, match="'33', which is not among the pegs"):
        world(ranking=ranking)


def test_a_peg_ranked_twice_is_refused_by_name():
    ranking = world().ranking
    again = ranking[ranking["peg"] == "4"].head(1)
    doubled = pd.concat([ranking, again])
    with pytest.raises(MapRefused, match="peg '4' is ranked twice"):
        world(ranking=doubled)


def test_an_unknown_edition_is_refused():
    with pytest.raises(MapRefused, match="'press'; choose 'members' or 'committee'"):
        world(edition="press")


def test_an_unranked_river_still_makes_a_map():
    page = page_of(world(ranking=world().ranking.iloc[:0]))
    assert data_of(page)["scores"]["tables"] == []
    assert "No peg has been scored." in page


def test_a_river_without_places_cautions_or_layers_still_makes_a_map():
    content = world(hazards=None, cautions={}, general_cautions=(), verdicts={})
    assert data_of(page_of(content))["places"] == []


@pytest.mark.parametrize(
    ("code", "easting", "northing"),
    [(27700, 620000, 500000), (27700, 1000, 300), (2180, 5e5, 5e5), (32630, 5e5, 57e5)],
)
def test_a_cell_lies_in_the_picture_where_its_outline_would(code, easting, northing):
    box = Bounds(west=easting, east=easting + 400, south=northing, north=northing + 300)
    grid = Grid.covering(box, cell_m=2.0, crs=f"EPSG:{code}")
    values = np.zeros(grid.shape, np.float32)
    values[40, 120] = 1.0
    frame = WebFrame(grid)
    row, column = np.argwhere(frame.sample(values) == 1.0).mean(axis=0) + 0.5
    south, west, north, east = frame.corners
    rows, columns = frame.shape
    top, bottom = (np.arcsinh(np.tan(np.radians(x))) for x in (north, south))
    height = top + row / rows * (bottom - top)
    at = (
        west + column / columns * (east - west),
        np.degrees(np.arctan(np.sinh(height))),
    )
    to_degrees = Transformer.from_crs(grid.crs, "EPSG:4326", always_xy=True)
    metres = to_degrees.transform(*at, direction="INVERSE")
    centre = (grid.west + 120.5 * 2, grid.north - 40.5 * 2)
    # nearest cell: within one pixel, which is about one cell
    np.testing.assert_allclose(metres, centre, rtol=0, atol=2.0)


def test_a_picture_outside_the_grid_is_unknown():
    box = Bounds(west=620000, east=620400, south=500000, north=500300)
    grid = Grid.covering(box, cell_m=2.0, crs="EPSG:27700")
    sampled = WebFrame(grid).sample(np.ones(grid.shape, np.float32))
    # 2° west of its meridian line the grid stands askew: the corners are bare
    assert np.isnan(sampled[0, 0]) or np.isnan(sampled[0, -1])
    assert np.nanmin(sampled) == 1.0


def test_only_kinds_of_bottom_count_as_shares(page):
    # the ranking also holds how much of a swim is wet
    assert data_of(page)["scores"]["classes"] == ["silt", "sand", "gravel", "cobble"]
