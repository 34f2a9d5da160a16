"""A page with everything inside it: folium's figure without a single link.

folium declares scripts and styles as addresses on the network, and branca reads
every text it is given as a template. Here the links become text of the files in
``vendor/``, an unknown link is refused, and our own elements give their text
unread. A content-security policy made of hashes allows these very scripts and
styles and nothing else.
"""

from __future__ import annotations

import base64
import hashlib
import re
from html import escape
from html.parser import HTMLParser
from importlib.resources import files
from typing import Any

from branca.element import CssLink, Element, Figure, JavascriptLink

from pegscore.errors import MapRefused

VENDORED = {"leaflet": "leaflet.js", "leaflet_css": "leaflet.css"}
"""folium's name of each link that we hold, and our file."""

FETCHING = {"src", "srcset", "href", "xlink:href", "poster", "data", "action"}
"""Attributes by which a page reaches for something."""


class Verbatim(Element):
    """Text that goes into the page as it is: no template ever reads it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text

    def render(self, **_: object) -> str:
        """Return the text."""
        return self.text


class Script(Verbatim):
    """A script of ours."""


class Style(Verbatim):
    """A style sheet of ours."""


class LateScript(Verbatim):
    """A script of ours that runs after the figure's other children's own."""

    def render(self, **_: object) -> str:
        """Join the figure's script; nothing is drawn in place."""
        figure: Any = self.get_root()
        figure.script.add_child(Verbatim(self.text), name="late")
        return ""


class OfflineFigure(Figure):
    """A figure that renders into one file which needs no network.

    ``pictures_from`` is the one origin that pictures may come from besides the file
    itself; by default there is none.

    Header elements may be links that ``VENDORED`` knows, ``Script`` and
    ``Style``; what is drawn goes to ``html`` and ``script`` as in any figure.

    Raises
    ------
    MapRefused
        At rendering, if a link is not vendored or an element reaches outside.
    """

    def __init__(self, *, title: str, pictures_from: str = "") -> None:
        super().__init__(title=title)
        self.pictures_from = pictures_from
        self.header._children.clear()  # noqa: SLF001 - branca's own meta line

    def render(self, **kwargs: object) -> str:
        """Return the whole page."""
        for child in self._children.values():
            child.render(**kwargs)
        styles, scripts = self._header_parts()
        body = self.html.render(**kwargs)
        last = inert_script(self.script.render(**kwargs))
        page = "\n".join(
            [
                "<!DOCTYPE html>",
                '<html lang="en">',
                "<head>",
                _head(
                    escape(str(self.title)),
                    _policy(styles, [*scripts, last], self.pictures_from),
                    styles,
                    scripts,
                ),
                "</head>",
                "<body>",
                body,
                f"<script>{last}</script>",
                "</body>",
                "</html>",
                "",
            ]
        )
        refuse_links(page)
        return page

    def _header_parts(self) -> tuple[list[str], list[str]]:
        ours, theirs, scripts = [], [], []
        for name, child in self.header._children.items():  # noqa: SLF001
            if isinstance(child, Script):
                scripts.append(inert_script(child.text))
            elif isinstance(child, JavascriptLink):
                scripts.append(inert_script(vendored(name, child.url)))
            elif isinstance(child, Style):
                ours.append(inert_style(child.text))
            elif isinstance(child, CssLink):
                theirs.append(inert_style(vendored(name, child.url)))
            else:
                message = (
                    f"the map's header got {type(child).__name__} {name!r}, which no "
                    "hash covers; add it as a Script or a Style"
                )
                raise MapRefused(message)
        return theirs + ours, scripts


def vendored(name: str, address: str) -> str:
    """Return the text of a vendored file.

    Raises
    ------
    MapRefused
        If we do not hold it.
    """
    if name not in VENDORED:
        message = (
            f"the map wants {name!r} from {address}, which is not vendored; "
            "put the file into pegscore/pages/vendor and list it in VENDORED"
        )
        raise MapRefused(message)
    return read_vendored(VENDORED[name])


def read_vendored(file: str) -> str:
    """Return the text of a file in ``vendor/``."""
    folder = files("pegscore.pages").joinpath("vendor")
    return folder.joinpath(file).read_text(encoding="utf-8")


def inert_script(text: str) -> str:
    r"""Return a script that cannot end its own element, without its source map.

    Examples
    --------
    >>> inert_script("a = '</script>' //# sourceMappingURL=a.js.map")
    "a = '<\\/script>' "
    """
    text = re.sub(r"//# sourceMappingURL=\S*", "", text)
    text = re.sub(r"</(?=script)", r"<\\/", text, flags=re.IGNORECASE)
    return text.replace("<!--", "<\\!--")


def inert_style(text: str) -> str:
    """Return a style sheet without comments and without pictures to fetch.

    Examples
    --------
    >>> inert_style("a { /* why */ background: url(images/a.png) }")
    'a {  background: none }'
    """
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return re.sub(r"url\((?!#)[^)]*\)", "none", text)


def refuse_links(page: str) -> None:
    """Raise ``MapRefused`` if any attribute of a page reaches outside it.

    Examples
    --------
    >>> refuse_links('<a href="#pegs">pegs</a><img src="data:image/png;base64,AA">')
    """
    finder = _LinkFinder()
    finder.feed(page)
    finder.close()
    if finder.found:
        message = (
            f"the map would reach outside the file: {', '.join(finder.found)}; "
            "write such text through the data block"
        )
        raise MapRefused(message)


class _LinkFinder(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            inside = (value or "").startswith(("#", "data:"))
            if name in FETCHING and not inside:
                self.found.append(f"<{tag} {name}={value!r}>")
            if name.startswith("on"):
                self.found.append(f"<{tag} {name}>")


def _head(title: str, policy: str, styles: list[str], scripts: list[str]) -> str:
    lines = [
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        '<meta name="referrer" content="no-referrer">',
        '<link rel="icon" href="data:,">',
        f"<title>{title}</title>",
    ]
    lines += [f"<style>{text}</style>" for text in styles]
    lines += [f"<script>{text}</script>" for text in scripts]
    return "\n".join(lines)


def _policy(styles: list[str], scripts: list[str], pictures_from: str) -> str:
    return "; ".join(
        [
            "default-src 'none'",
            "script-src " + " ".join(_hash(text) for text in scripts),
            "style-src " + " ".join(_hash(text) for text in styles),
            f"img-src data: {pictures_from}".strip(),
            "connect-src 'none'",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
