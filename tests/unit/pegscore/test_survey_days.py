from types import SimpleNamespace

import pandas as pd
import pytest

from pegscore.survey_days import survey_date


@pytest.mark.parametrize(
    ("soundings", "said"),
    [
        (None, "on a day not recorded"),
        (pd.DataFrame({"depth_m": [1.0]}), "on a day not recorded"),
        (pd.DataFrame({"when": ["2024-07-06", "2024-09-21"]}), "2024-09-21"),
    ],
)
def test_the_surveys_day_is_its_last_or_said_to_be_unknown(soundings, said):
    assert survey_date(SimpleNamespace(soundings=soundings)) == said
