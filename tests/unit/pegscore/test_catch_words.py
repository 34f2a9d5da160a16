"""What the committee's map tells of catches, and of which pegs it keeps silent."""

from __future__ import annotations

import pandas as pd

from pegscore.catch_words import catch_sentences
from pegscore.returns import read_visits


def visits(anglers: dict[str, list[str]], caught: int = 2) -> pd.DataFrame:
    rows = [
        {"peg": peg, "angler": angler, "hours": 4.0, "species": "chub", "count": caught}
        for peg, names in anglers.items()
        for angler in names
    ]
    table = pd.DataFrame(rows)
    table["visit"] = [str(i) for i in range(len(table))]
    table["date"] = pd.date_range("2024-06-20", periods=len(table))
    return read_visits(table)


def test_six_visits_of_three_anglers_are_told_with_their_interval():
    told = catch_sentences(visits({"7": list("abcabc")}), {"chub": "Chub"})
    # 12 fish in 24 h; exact Poisson limits of 12: 7.83 and 17.78 (Garwood 1936 [M])
    assert told == {
        "7": (
            "6 visits by 3 anglers, 24 hours",
            "Chub: 12 in 24 hours, 0.50 an hour (80 % interval 0.33 to 0.74)",
        )
    }


def test_nothing_is_told_of_too_few_visits_or_anglers():
    few = {"1": list("abca"), "2": list("ababab"), "3": list("aaaaaaaabc")}
    assert catch_sentences(visits(few), {"chub": "Chub"}) == {}


def test_a_fish_never_caught_there_is_left_out():
    told = catch_sentences(visits({"7": list("abcabc")}, caught=0), {"chub": "Chub"})
    assert told == {"7": ("6 visits by 3 anglers, 24 hours",)}
