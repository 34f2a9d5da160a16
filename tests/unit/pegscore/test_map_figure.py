"""The page that holds everything inside it, and refuses what it does not hold."""

from __future__ import annotations

import base64
import hashlib
import re
from importlib.resources import files

import folium
import pytest

from pegscore.errors import MapRefused
from pegscore.pages.figure import (
    LateScript,
    OfflineFigure,
    Script,
    Style,
    Verbatim,
    inert_script,
    inert_style,
    refuse_links,
)
from pegscore.pages.map import RiverMap

SUMS = {
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
    "leaflet.LICENSE.txt": (
        "53e8dc25862014e4324741ca18fbe3611e11d42ef69f59f86ea8c5389647d4cb"
    ),
}


def figure() -> OfflineFigure:
    return OfflineFigure(title="a <b> & c")


@pytest.mark.parametrize("name", SUMS)
def test_vendored_files_are_the_published_ones_byte_for_byte(name):
    held = files("pegscore.pages").joinpath("vendor").joinpath(name).read_bytes()
    assert hashlib.sha256(held).hexdigest() == SUMS[name]


def test_foliums_own_map_is_refused_for_its_links():
    page = figure()
    page.add_child(folium.Map(tiles=None))
    with pytest.raises(MapRefused, match=r"wants 'jquery' from .* not vendored"):
        page.render()


@pytest.mark.parametrize(
    "text",
    [
        '<img src="https://example.invalid/a.png">',
        '<a href="javascript:void(0)">x</a>',
        "<iframe src=//example.invalid></iframe>",
        '<img src="a.png">',
        '<p onclick="x()">',
        '<form action="https://example.invalid">',
        "<link rel=stylesheet href=a.css>",
    ],
)
def test_anything_that_reaches_outside_is_refused(text):
    page = figure()
    page.html.add_child(Verbatim(text))
    with pytest.raises(MapRefused, match="would reach outside the file"):
        page.render()


def test_a_header_element_that_no_hash_covers_is_refused():
    page = figure()
    page.header.add_child(Verbatim("<style>a{}</style>"), name="loose")
    with pytest.raises(MapRefused, match="'loose', which no hash covers"):
        page.render()


def test_every_script_and_style_is_in_the_policy_and_no_other():
    page = figure()
    page.add_child(RiverMap(location=[50.0, 1.0]))
    page.header.add_child(Script("var one = 1;"))
    page.header.add_child(Style("p { color: red }"))
    page.add_child(LateScript("var late = 1;"))
    text = page.render()
    for kind in ("script", "style"):
        bodies = re.findall(rf"<{kind}>(.*?)</{kind}>", text, re.DOTALL)
        sums = {
            base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
            for body in bodies
        }
        policy = re.search(rf"{kind}-src ([^;]*);", text).group(1)
        assert set(re.findall(r"'sha256-([^']*)'", policy)) == sums
        assert "unsafe" not in policy


def test_template_braces_pass_unread():
    page = figure()
    page.html.add_child(Verbatim("<p>{{ 7*7 }} {% raw %}</p>"))
    page.add_child(LateScript("var a = '{{ 7*7 }}';"))
    text = page.render()
    assert "<p>{{ 7*7 }} {% raw %}</p>" in text
    assert "var a = '{{ 7*7 }}';" in text


def test_the_title_is_escaped():
    assert "<title>a &lt;b&gt; &amp; c</title>" in figure().render()


def test_a_script_cannot_end_its_own_element():
    assert inert_script("a='</ScRiPt><!--'") == "a='<\\/ScRiPt><\\!--'"


def test_a_style_keeps_its_rules_and_loses_its_pictures():
    assert inert_style("a{b:url('x.png')}c{d:e}") == "a{b:none}c{d:e}"


def test_links_inside_the_page_are_no_links_outside():
    refuse_links('<a href="#x">x</a><use href="#y"/>')
