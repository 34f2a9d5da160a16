"""What the eye reads on the water, as the page draws it: lines and areas by level."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pegscore.pages.places import STRUCTURE_WORDS
from pegscore.pages.shapes import shapes_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd

    from pegscore.pages.content import MapContent


def structures_payload(
    content: MapContent, levels: Sequence[float]
) -> list[list[dict[str, Any]]]:
    """Return the lines and areas of each level; none where none were looked for."""
    held = {round(level, 3): found for level, found in content.structures.items()}
    return [
        [*_shown(held[level].areas), *_shown(held[level].lines)]
        if level in held
        else []
        for level in levels
    ]


def _shown(found: gpd.GeoDataFrame) -> list[dict[str, Any]]:
    if found.empty:
        return []
    pairs = zip(found["kind"].astype(str), shapes_of(found.geometry), strict=True)
    return [
        {"kind": kind, "shape": shape}
        for kind, shape in pairs
        if shape is not None and kind in STRUCTURE_WORDS
    ]
