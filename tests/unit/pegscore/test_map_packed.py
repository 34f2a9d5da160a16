"""Numbers and reasons packed for the page come out as they went in."""

from __future__ import annotations

import base64

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegscore.pages.packed import GAP, Columns, Reasons, runs_of, steps_of
from pegscore.pages.scores import STEPS
from pegscore.pages.text import plain


def read_reason(reasons: Reasons, number: int) -> str:
    wording, *numbers = reasons.texts[number].split("|")
    parts = reasons.wordings.texts[int(wording)].split(GAP)
    numbers.append("")
    return "".join(a + b for a, b in zip(parts, numbers, strict=True))


@given(st.text())
def test_any_reason_reads_back_as_the_page_would_show_it(text):
    reasons = Reasons()
    assert read_reason(reasons, reasons.add_reason(text)) == plain(text)


def test_reasons_that_differ_in_numbers_share_their_wording():
    reasons = Reasons()
    for depth in range(100):
        reasons.add_reason(f"depth {depth / 100:.2f} m, shallower than 0.8 m")
    assert len(reasons.wordings.texts) == 1
    assert len(reasons.texts) == 100


def test_the_unknown_is_zero_and_zero_is_not():
    held = steps_of([np.nan, 0.0, 0.713, -0.2], step=0.001)
    assert held.tolist() == [0, 1, 714, 1]


@pytest.mark.parametrize("score", [0.7152, 0.7149, 0.005, 0.0251, 1.0])
def test_a_score_shows_on_the_map_as_in_the_ranking(score):
    shown = (int(steps_of([score], step=STEPS["score"])[0]) - 1) * STEPS["score"]
    assert f"{shown:.2f}" == f"{score:.2f}"


def test_what_does_not_fit_is_drawn_as_the_largest():
    assert steps_of([300.0], step=1.0, kind="uint8").tolist() == [255]


def test_the_same_column_is_kept_once():
    columns = Columns()
    first = columns.add_numbers([0.5, np.nan], step=0.01)
    assert columns.add_numbers([0.5, np.nan], step=0.01) == first
    assert columns.add_numbers([0.5, 0.6], step=0.01) == 1
    assert base64.b64decode(columns.texts[0]) == b"\x33\x00\x00\x00"  # 51, 0


@pytest.mark.parametrize(
    ("mask", "runs"),
    [([[1, 1], [0, 1]], [0, 2, 1, 1]), ([[0, 0]], []), ([[0, 1, 0]], [1, 1])],
)
def test_runs_alternate_and_the_last_blank_is_left_out(mask, runs):
    assert runs_of(np.array(mask, bool)) == runs
