"""A real browser with the network cut, and the pages it opens."""

from __future__ import annotations

import importlib.util
import re
import shutil
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from pegscore.pages.map import write_map

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
HOSTILE = (
    "<img src=x onerror=alert(1)>",
    "{{ 7*7 }}",
    "</script><script>alert(1)</script>",
    "`${alert(1)}` \\` \\",
    "\"quoted\" 'single' &amp; &lt;",
    "two\nlines\ttab \u2028 separator",
    "\u202eevil\u202c \u2066mixed",
    "<!--<script>",
    "{% for x in y %}",
    "\x00 \x07 \x1b[31m \x01 \x7f \x85",
    "javascript:alert(1)//https://example.invalid/?q=<svg onload=alert(1)>",
    "\u200f\u202d\u2067\u0301\ufeff\ufffe",
)


def _map_world():
    path = Path(__file__).parents[2] / "map_world.py"
    spec = importlib.util.spec_from_file_location("map_world", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def world():
    """Return the maker of the small invented river."""
    return _map_world().world


@pytest.fixture(scope="session")
def large_world():
    """Return the maker of a long river."""
    return _map_world().large_world


@pytest.fixture(scope="session")
def board_for():
    """Return the maker of a planning board for a content."""
    return _map_world().board_for


@pytest.fixture(scope="session")
def browser():
    if CHROMIUM is None:
        pytest.skip("chromium is not installed")
    sync = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed"
    )
    with sync.sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def plain_map(world, tmp_path_factory):
    return write_map(world(), tmp_path_factory.mktemp("map") / "map.html")


@pytest.fixture(scope="session")
def hostile_map(world, tmp_path_factory):
    count = iter(range(10**6))

    def say(text: str) -> str:
        return f"{text} {HOSTILE[next(count) % len(HOSTILE)]}"

    plain = world(say=say, edition="committee")
    ranking = plain.ranking.rename(columns={"suit_speed": say("suit_speed")})
    hazards = plain.hazards.assign(kind=[say("old_mill") for _ in range(4)])
    content = replace(
        plain,
        ranking=ranking.assign(basis=say("preference"), limiting=say("pace")),
        hazards=hazards,
        survey_date=say("2026-06-20"),
        level_cautions={0.6: say("Above all that was measured.")},
        returns={peg: (say("12 visits"),) for peg in plain.pegs.index},
    )
    return write_map(content, tmp_path_factory.mktemp("hostile") / "map.html")


@pytest.fixture
def visit(browser):
    """Open a page that may reach nothing, and note whatever it tries or says."""
    contexts = []

    def opened(path: Path, size: tuple[int, int] = (1440, 900), **options):
        width, height = size
        context = browser.new_context(
            viewport={"width": width, "height": height}, **options
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(5000)
        log = SimpleNamespace(requests=[], reached=[], words=[], dialogs=[])
        page.on("request", lambda request: log.requests.append(request.url))
        page.on("console", lambda message: log.words.append(message.text))
        page.on("pageerror", lambda error: log.words.append(str(error)))
        page.on("dialog", lambda box: (log.dialogs.append(box.message), box.dismiss()))

        def cut(route) -> None:
            log.reached.append(route.request.url)
            route.abort()

        page.route(re.compile("^https?:"), cut)
        page.goto(path.as_uri())
        return page, log

    yield opened
    for context in contexts:
        context.close()
