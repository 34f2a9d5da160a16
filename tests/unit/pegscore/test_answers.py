"""What the last column of a ranking on the screen says."""

from __future__ import annotations

import pytest

from pegscore.answers import held_back

SUITS = {"suit_depth": 1.0, "suit_speed": 1.0, "suit_substrate": 1.0}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "nothing much"),
        ({"limiting": "depth", "suit_depth": 0.3}, "depth"),
        ({"suit_speed": float("nan")}, "nothing known"),
        ({"score": float("nan"), "why": "Not scored: dry."}, "Not scored: dry."),
    ],
)
def test_a_peg_tells_what_holds_it_back_and_never_repeats_its_reasons(change, said):
    row = {"score": 0.9, "limiting": "", "why": "For: depth 1.2 m.", **SUITS, **change}
    assert held_back(row) == said
