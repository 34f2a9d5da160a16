"""A background from the network, for those who ask for one; off until switched on.

Whoever serves the pictures learns which part of the river is looked at: the page
says so beside the switch, and asks for nothing before it is used.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from pegscore.errors import MapRefused
from pegscore.pages.text import plain

if TYPE_CHECKING:
    from typing import Any

_HOST = re.compile(r"[a-z0-9-]+(\.[a-z0-9-]+)+(:[0-9]{1,5})?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiles:
    """Where background pictures come from, and whom to name for them.

    Parameters
    ----------
    address : str
        ``https`` with ``{z}``, ``{x}`` and ``{y}``.
    credit : str
        The words that the pictures' owner asks for.

    Raises
    ------
    MapRefused
        If the address is not such a one or nobody is named.

    Examples
    --------
    >>> Tiles(address="https://tiles.example/{z}/{x}/{y}.png", credit="A. N.").origin
    'https://tiles.example'
    """

    address: str
    credit: str

    def __post_init__(self) -> None:
        parts = urlsplit(self.address)
        named = all(f"{{{name}}}" in self.address for name in "zxy")
        if parts.scheme != "https" or not _HOST.fullmatch(parts.netloc) or not named:
            message = (
                f"tiles from {self.address!r} cannot be used; give an address such as "
                "https://tiles.example/{z}/{x}/{y}.png"
            )
            raise MapRefused(message)
        if not self.credit.strip():
            message = (
                "tiles need a credit; say with --tiles-credit whose pictures these are"
            )
            raise MapRefused(message)

    @property
    def origin(self) -> str:
        """The one place that the page may then fetch pictures from."""
        return f"https://{urlsplit(self.address).netloc}"


def tiles_payload(tiles: Tiles | None) -> dict[str, Any] | None:
    """Return the tiles as the page reads them."""
    if tiles is None:
        return None
    host = tiles.origin.removeprefix("https://")
    return {"address": tiles.address, "credit": plain(tiles.credit), "host": host}
