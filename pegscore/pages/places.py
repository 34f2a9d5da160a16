"""What the map says of the places on and beside the water."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import geopandas as gpd

WORDS: dict[str, tuple[str, str]] = {
    "overhead_line": ("Overhead power line: keep rods and poles well away", "danger"),
    "weir": ("Weir: undertow and sudden depth", "danger"),
    "steep_bank": ("Steep bank", "danger"),
    "soft_bank": ("Soft or undercut bank", "danger"),
    "deep_margin": ("Deep water at the edge", "danger"),
    "outfall": ("Outfall: level and water quality can change", "danger"),
    "no_fishing": ("No fishing", "rule"),
    "spawning": ("Spawning ground: keep off the gravel", "rule"),
    "path": ("Path", "access"),
    "step_free_path": ("Step-free path", "access"),
    "parking": ("Parking", "access"),
    "tree": ("Tree", "water"),
    "snag": ("Snag", "water"),
    "weed": ("Weed bed", "water"),
}
"""By kind: the words on the map and the group that chooses the symbol [C]."""

LETTERS = {"parking": "P", "tree": "T", "snag": "S", "weed": "W"}
"""What stands in the symbol of a place that is neither a danger nor a rule."""

STRUCTURE_WORDS = {
    "crease": "Crease: fast water beside slow",
    "shelf": "Shelf: the bottom drops away",
    "gravel_edge": "Edge of gravel",
    "slack": "Slack water",
    "lee": "Lee of something in the stream",
    "shade": "Shade of a tree",
    "cover": "Cover: snag, weed or roots",
}
"""By kind: what a line or an area of the water is called on the map [C]."""

CONFIDENTIAL = ("spawning",)
"""Kinds that never leave the committee: a published redd is a trampled redd [P]."""


def shown_places(
    places: gpd.GeoDataFrame | None, *, edition: str
) -> gpd.GeoDataFrame | None:
    """Return the places an edition may show, or None.

    Nothing confidential passes into any edition but the committee's, whatever
    the caller filtered before.
    """
    if places is None or edition == "committee":
        return places
    kinds = places["kind"].astype(str).str.strip().str.lower()
    return places[~kinds.isin(CONFIDENTIAL)]


def words_of(kind: str) -> tuple[str, str]:
    """Return the words and the symbol group of a kind.

    Examples
    --------
    >>> words_of("parking")
    ('Parking', 'access')
    >>> words_of("old_mill")
    ('Old mill', 'danger')
    """
    named = kind.replace("_", " ").strip().capitalize()
    return WORDS.get(kind, (named, "danger"))
