"""On which day the survey was made."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from layers.river import Survey


def survey_date(survey: Survey) -> str:
    """Return the latest day on which anything was sounded, or that it is unknown."""
    soundings = survey.soundings
    if soundings is None or "when" not in soundings:
        return "on a day not recorded"
    days = pd.to_datetime(soundings["when"], errors="coerce").dropna()
    return "on a day not recorded" if days.empty else f"{days.max():%Y-%m-%d}"
