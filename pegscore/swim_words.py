"""The swim sheet in words: what the screen shows and the page prints."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from pegscore.curves import MARKS
from pegscore.flag_words import flags_of
from pegscore.reasons import explain
from pegscore.screen import shortened, text_table, wrapped
from pegscore.swim_phrases import along_text, down, range_text
from pegscore.units import is_unknown, length, pace, share
from pegscore.wording import one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pegscore.feeding_zone import Feed
    from pegscore.swim_marks import Mark
    from pegscore.swim_score import SwimScore
    from pegscore.swim_sheet import SwimSheet

SHOWN_STEP = 2
"""The screen shows every second point of the run line."""

ILL_CONDITIONED = (
    "Sinking speeds marked 'computed' rest on common-practice sizes and densities; a "
    "few per cent of density change them by half. Time your own bait in a bucket "
    "(baits.toml): that overrides them. The throw itself is taken to be exact."
)
NOT_TOLD = (
    "Unknown: on the way the water is dry or not known, or it leads beyond the water "
    "looked at, 15 m above and 40 m below the reach."
)
SET_MARK = "Which to start with is common practice, no source."
MARGIN_ADVICE = "clear of what the survey warns of. Look before you kneel."
NO_MARGIN = (
    "To net a fish: no margin in reach is known to be gentle and clear. Bring a long "
    "net and stay back from the edge."
)
WEIGHT_MARKS = {**MARKS, "P": "our own proposal, no source"}


def sheet_text(sheet: SwimSheet, *, units: str = "metric") -> str:
    """Return the whole sheet as text, cautions first.

    Parameters
    ----------
    sheet : SwimSheet
    units : {'metric', 'imperial'}
    """
    blocks = [
        [headline(sheet, units), *warnings(sheet)],
        score_lines(sheet.score, units),
        list(_run_lines(sheet, units)),
        tackle_lines(sheet, units),
        list(_feed_lines(sheet, units)),
        mark_lines(sheet, units),
        [*(f"- {text}" for text in sheet.general_cautions), survey_line(sheet)],
    ]
    return "\n\n".join("\n".join(map(_laid, block)) for block in blocks if block)


def _laid(line: str) -> str:
    """Break a sentence to the screen's width; a table stays as it is."""
    return line if "\n" in line else wrapped(line)


def headline(sheet: SwimSheet, units: str) -> str:
    """Return peg, bank, river, level and line in one sentence."""
    told = [
        f"Peg {shortened(one_line(sheet.peg))}",
        f"{sheet.bank} bank",
        shortened(one_line(sheet.river), 60),
        f"board at {length(sheet.level_m, units)}",
    ]
    if not math.isnan(sheet.distance_out_m):
        told.append(f"run line {length(sheet.distance_out_m, units, decimals=1)} out")
    return ", ".join(told)


def warnings(sheet: SwimSheet) -> list[str]:
    """Return what must be read first: bars, hazards, what is missing."""
    told = []
    if sheet.barred:
        told.append(f"NO FISHING HERE: {one_line(sheet.barred)}.")
    if sheet.score is not None:
        told += [f"NO: {one_line(veto)}" for veto in sheet.score.vetoes]
    others = [text for text in sheet.cautions if text not in sheet.barred]
    cautions = [_sentence(text) for text in others]
    return told + [f"- {text}" for text in (*cautions, *map(one_line, sheet.notes))]


def score_lines(score: SwimScore | None, units: str) -> list[str]:
    """Return the species' score, its rank and the reasons."""
    if score is None or score.vetoes:
        return []
    title, row = one_line(score.species.title), score.row
    if is_unknown(row["score"]):
        lines = [f"{title}: {one_line(str(row['why']))}"]
    else:
        told = explain(score.species, row, units=units)
        worth = f"{row['score']:.2f} (80 %: {row['low']:.2f}-{row['high']:.2f})"
        rank = f"rank {row['rank']} of {score.pegs} pegs"
        lines = [f"{title}: score {worth}, {rank}.", told.why]
        lines += [f"! {flag.sentence}" for flag in flags_of(row)]
    return [*lines, *(f"- {one_line(note)}" for note in score.notes)]


def _run_lines(sheet: SwimSheet, units: str) -> Iterator[str]:
    """Yield the run in the swim as a table, a line every two metres."""
    line = sheet.line
    if line is None:
        return
    yield "Down the run line, 0 abreast of the peg; ± is one standard error:"
    rows = [
        [
            length(line.along_m[at], units, decimals=1),
            _give(length, line.depth_m[at], line.depth_sd_m[at], units),
            _give(pace, line.speed_m_s[at], line.speed_sd_m_s[at], units),
            f"{line.bottom[at]} {share(line.bottom_share[at])}"
            if line.bottom[at]
            else "unknown",
        ]
        for at in np.flatnonzero(line.fished)[::SHOWN_STEP]
    ]
    yield text_table(["down", "depth", "pace", "bottom"], rows)


def tackle_lines(sheet: SwimSheet, units: str) -> list[str]:
    """Return the depth to set, the float's weight and the time to pass."""
    told: list[str] = []
    if not sheet.is_open:
        return told
    depths, weight = sheet.depth_to_set, sheet.weight
    if depths is not None:
        told.append(
            f"Set the float: start at {length(depths.usual_m, units)}, the middle of "
            f"the run; {length(depths.clear_m, units)} runs clear all the way; the "
            f"deepest is {length(depths.deepest_m, units)}, "
            f"{down(depths.deepest_at_m, units)}. {SET_MARK}"
        )
    if weight is not None:
        told.append(f"Float: {weight_text(sheet)}")
    if not math.isnan(sheet.pass_s):
        told.append(f"A float let go passes the swim in {sheet.pass_s:.0f} s.")
    return told


def weight_text(sheet: SwimSheet) -> str:
    """Return the float's weight with what it rests on."""
    weight = sheet.weight
    if weight is None or math.isnan(weight.grams):
        return "depth or pace unknown, so no weight is named."
    words = one_line(weight.words)
    mark = f"{WEIGHT_MARKS[weight.mark]}: correct it at the water."
    if weight.grams == 0:
        return f"{words}; {mark}"
    shot = f" ({one_line(weight.shot)})" if weight.shot else ""
    return f"about {weight.grams:.1f} g{shot}, {words}; {mark}"


def _feed_lines(sheet: SwimSheet, units: str) -> Iterator[str]:
    """Yield where each bait lands, and the feeding zone."""
    if not sheet.feeds:
        return
    water = f"water taken at {sheet.temp_c:g} °C"
    if math.isnan(sheet.land_at_m):
        thrown = down(sheet.feeds[0].thrown_m, units)
        yield f"Loose feed thrown in on the run line {thrown}, {water}:"
    else:
        yield f"To land loose feed {down(sheet.land_at_m, units)}, {water}:"
    header = ["bait", "sinks", "throw", "lands", "80 %", "falls", "basis"]
    yield text_table(header, [feed_row(feed, units) for feed in sheet.feeds])
    yield from zone_lines(sheet, units)
    sinking = [feed for feed in sheet.feeds if not feed.settling.floats]
    if any(math.isnan(feed.landing.at_m) for feed in sinking):
        yield NOT_TOLD
    yield ILL_CONDITIONED


def feed_row(feed: Feed, units: str) -> list[str]:
    """Return one bait's row: title, speed, throw, landing, its range, time, basis."""
    title = shortened(one_line(feed.title))
    if feed.settling.floats:
        return [title, "floats", "-", "-", "goes with the surface", "-", "floats"]
    landing = feed.landing
    known = not math.isnan(landing.at_m)
    return [
        title,
        pace(feed.settling.usual_m_s, units, decimals=3),
        length(feed.thrown_m, units, decimals=1),
        length(landing.at_m, units, decimals=1),
        range_text(landing.from_m, landing.to_m, units) if known else "unknown",
        f"{landing.falls_s:.0f} s" if known else "-",
        feed.settling.basis,
    ]


def zone_lines(sheet: SwimSheet, units: str) -> list[str]:
    """Return the feeding zone and the time a float takes to pass it."""
    zone = sheet.zone
    if zone is None:
        return ["No feeding zone: no landing is known."] if sheet.feeds else []
    whole = f"{along_text(zone.from_m, zone.to_m, units)}{_passed(zone.pass_s)}"
    told = [f"Feeding zone: {whole}."]
    if zone.baits == 1:
        return told
    if not zone.is_shared:
        return [*told, "These baits part company: no stretch gets them all."]
    shared = along_text(zone.shared_from_m, zone.shared_to_m, units)
    return [*told, f"All of these may land {shared}{_passed(zone.shared_pass_s)}."]


def mark_lines(sheet: SwimSheet, units: str) -> list[str]:
    """Return creases, shelves, slacks, snags and weed, and where to net a fish."""
    told = [mark_text(mark, units) for mark in (*sheet.structure, *sheet.things)]
    lines = ["In the swim:", *(f"- {text}" for text in told)] if told else []
    return [*lines, *netting_lines(sheet, units)]


def mark_text(mark: Mark, units: str) -> str:
    """Return one thing in the swim by metres out and metres down.

    Examples
    --------
    >>> from pegscore.swim_marks import Mark
    >>> mark_text(Mark(kind="crease", title="crease", out_from_m=3.0, out_to_m=4.2,
    ...                down_from_m=-1.0, down_to_m=12.0, parts=()), "metric")
    'crease: 3–4.2 m out, 1.0 m up to 12.0 m down'
    """
    out = range_text(mark.out_from_m, mark.out_to_m, units)
    along = along_text(mark.down_from_m, mark.down_to_m, units)
    return f"{shortened(one_line(mark.title), 60)}: {out} out, {along}"


def netting_lines(sheet: SwimSheet, units: str) -> list[str]:
    """Return where a fish can be netted; silence where nothing may be fished."""
    if sheet.line is None or not sheet.is_open:
        return []
    if sheet.netting is None:
        return [NO_MARGIN]
    where = down(sheet.netting.down_m, units)
    depth = length(sheet.netting.depth_m, units)
    return [f"To net a fish: {where}, {depth} deep at the net, {MARGIN_ADVICE}"]


def survey_line(sheet: SwimSheet) -> str:
    """Return when the survey was made."""
    return f"Survey: {one_line(sheet.survey_date)}."


def _give(write: object, value: float, error: float, units: str) -> str:
    """Write a value with its standard error, where that is known."""
    told = str(write(value, units))  # type: ignore[operator]  # length or pace
    if is_unknown(value) or is_unknown(error):
        return told
    number, unit = told.split(" ", 1)
    return f"{number} ± {str(write(error, units)).split(' ', 1)[0]} {unit}"  # type: ignore[operator]


def _passed(seconds: float) -> str:
    """Return how long a float takes, in words that follow a range."""
    return (
        ""
        if math.isnan(seconds)
        else f", which a float let go passes in {seconds:.0f} s"
    )


def _sentence(text: str) -> str:
    line = one_line(text)
    return f"{line[:1].upper()}{line[1:]}{'' if line.endswith('.') else '.'}"
