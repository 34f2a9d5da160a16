"""``flows.*``: gaugings of the rating curve."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from layers.plausible import warn_of_falling_flow, warn_of_levels, warn_of_repeats

if TYPE_CHECKING:
    from layers.placement import Stretch
    from layers.sheet import Sheet

FEWEST = 3
"""A rating has three numbers: fewer gaugings cannot give them."""


def read_flows(sheet: Sheet, stretch: Stretch) -> pd.DataFrame | None:
    """Return the gaugings as ``level_m, flow_m3_s``."""
    level_name = sheet.spelling_of("level_m") or "level_m"
    level_m = sheet.metres("level_m")
    flow = sheet.numbers("flow_m3s")
    values = {"level_m": level_m, "flow_m3_s": flow}
    if sheet.has("when"):
        values["when"] = sheet.moments("when")
    unused = sheet.unused()
    if not sheet.require(level_name, "flow_m3s"):
        return None
    sheet.refuse_empty(level_name)
    sheet.refuse_empty("flow_m3s")
    if level_m.nunique() < FEWEST:
        sheet.warn_file(
            "few-gaugings",
            f"{level_m.nunique()} gaugings at different levels do not make a rating "
            "curve",
            f"gauge the flow at {FEWEST} or more levels",
        )
    warn_of_levels(sheet, level_m, stretch)
    warn_of_falling_flow(sheet, pd.DataFrame(values))
    warn_of_repeats(sheet)
    return pd.concat([pd.DataFrame(values), unused], axis="columns")
