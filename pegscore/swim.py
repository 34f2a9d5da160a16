"""The swim sheet: one peg's water, where feed lands in it, and what to mind.

Everything on it is a number or a word taken from the layers, the places and the
shipped tables; what is missing is named in ``notes``, never filled in. Spawning
places and the club's private notes are left out, as a sheet is there to be handed on.
"""

from __future__ import annotations

import math
from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

import numpy as np

from pegscore.baits import find_baits, read_baits
from pegscore.depth_to_set import depth_to_set
from pegscore.drift import Stream
from pegscore.errors import PegUnknown
from pegscore.feeding_zone import Feed, feeding_zone, throw_for
from pegscore.float_guide import float_weight, read_float_guide
from pegscore.landing import landing
from pegscore.layer_points import layer_at
from pegscore.levels import level_caution
from pegscore.methods import find_method
from pegscore.netting import netting_spot
from pegscore.run_line import find_run_line
from pegscore.screen import shortened
from pegscore.settling import USUAL_TEMP_C
from pegscore.survey_days import survey_date
from pegscore.swim_marks import place_marks, structure_marks
from pegscore.swim_record import panel_record, sheet_record
from pegscore.swim_score import swim_score
from pegscore.swim_sheet import SwimSheet, SwimWishes

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd

    from pegscore.baits import Bait
    from pegscore.run_line import RunLine, SwimFrame
    from pegscore.swim_score import SwimScore
    from pegscore.workflow import Run

__all__ = [
    "SwimSheet",
    "SwimWishes",
    "find_peg",
    "panel_record",
    "sheet_record",
    "swim_sheet",
]

HALF = 0.5
NEAREST_SHOWN = 3
"""How many pegs are offered for a name that is none."""


NO_WATER = (
    "No water in reach of this peg at this level by this method: dry, hidden, or not "
    "surveyed. Nothing more can be told."
)
NO_PACE = (
    "Pace is not known here: where feed lands, the time to pass and the float's weight "
    "cannot be told."
)


def swim_sheet(
    run: Run,
    peg: str,
    *,
    level_m: float,
    wishes: SwimWishes | None = None,
) -> SwimSheet:
    """Return one peg's swim sheet.

    Parameters
    ----------
    run : Run
        Of ``pegscore.workflow.open_run``, with the method of ``wishes``.
    peg : str
        The peg's text in the club's file.
    level_m : float
        A level of ``run.stack``.
    wishes : SwimWishes, optional
        What the angler chose.

    Raises
    ------
    PegUnknown
        If no peg has that name, with the nearest that are.
    BaitUnknown, BaitsRefused, SpeciesUnknown
        If a bait or species is not known, or the club's file of baits is faulty.
    LevelMissing
        If the layers were not built at ``level_m``.
    """
    wishes = wishes or SwimWishes()
    row = find_peg(run, peg)
    line, frame = find_run_line(
        row,
        stack=run.stack,
        channel=run.channel,
        method=find_method(wishes.method),
        level_m=level_m,
        distance_out_m=wishes.distance_out_m,
    )
    sheet = _named(run, row, level_m, wishes)
    if wishes.species is not None:
        sheet = replace(sheet, score=_score(run, sheet.peg, level_m, wishes))
    if not line.fished.any():
        return replace(sheet, notes=(*sheet.notes, NO_WATER))
    sheet = _surveyed(sheet, run, row, line, frame)
    return _fished(sheet, run, line, wishes) if sheet.is_open else sheet


def find_peg(run: Run, peg: str) -> gpd.GeoDataFrame:
    """Return one peg as a table of one row.

    Raises
    ------
    PegUnknown
        If there is none of that name, with the nearest names.
    """
    known = [str(name) for name in run.pegs.index]
    if peg.strip() in known:
        at = known.index(peg.strip())
        return run.pegs.iloc[at : at + 1]
    near = get_close_matches(peg.strip(), known, n=NEAREST_SHOWN, cutoff=0.4)
    offered = ", ".join(map(shortened, near or known[:NEAREST_SHOWN]))
    message = (
        f"there is no peg {shortened(peg)!r} among the {len(known)}; "
        f"{'the nearest names are' if near else 'they begin with'} {offered}"
    )
    raise PegUnknown(message)


def _named(
    run: Run, row: gpd.GeoDataFrame, level_m: float, wishes: SwimWishes
) -> SwimSheet:
    """Return a sheet with names, cautions and what is missing from the survey."""
    peg = str(row.index[0])
    barred = str(row["blocked"].iloc[0]) if "blocked" in row else ""
    if not barred and not bool(row["open"].iloc[0]):
        barred = "closed by the club"
    cautions = run.cautions.get(peg, ())
    missing = (level_caution(run.survey, level_m), run.survey.absent.get("places", ""))
    temp_c = wishes.water_temp_c
    return SwimSheet(
        river=run.survey.river.name,
        peg=peg,
        bank=str(row["bank"].iloc[0]),
        method=wishes.method,
        level_m=level_m,
        survey_date=survey_date(run.survey),
        distance_out_m=math.nan,
        temp_c=USUAL_TEMP_C if temp_c is None else temp_c,
        barred=barred,
        cautions=tuple(each.text for each in cautions if each.members),
        notes=tuple(filter(None, missing)),
        land_at_m=math.nan if wishes.land_at_m is None else wishes.land_at_m,
    )


def _surveyed(
    sheet: SwimSheet,
    run: Run,
    row: gpd.GeoDataFrame,
    line: RunLine,
    frame: SwimFrame,
) -> SwimSheet:
    """Add the water of the swim and what lies in it."""
    swim, places = row["swim"].iloc[0], run.survey.places
    structure = run.structure(sheet.level_m)
    fished = line.along_m[line.fished]
    return replace(
        sheet,
        line=line,
        flows_left=frame.outwards < 0,
        distance_out_m=float(np.interp(0.0, line.along_m, line.out_m)),
        pass_s=line.pass_s(float(fished[0]), float(fished[-1])),
        structure=(
            *structure_marks(structure.lines, swim, frame),
            *structure_marks(structure.areas, swim, frame),
        ),
        things=place_marks(places, swim, frame),
        netting=netting_spot(
            frame, stack=run.stack, places=places, level_m=sheet.level_m
        ),
        notes=(*sheet.notes, *_unknown(line), *_sheltered(run, line, sheet.level_m)),
    )


def _fished(sheet: SwimSheet, run: Run, line: RunLine, wishes: SwimWishes) -> SwimSheet:
    """Add how to fish it: depth to set, weight, where feed lands."""
    depths = depth_to_set(line)
    pace = line.speed_m_s[line.fished]
    known = pace[np.isfinite(pace)]
    weight = float_weight(
        read_float_guide(run.survey.folder),
        depth_m=math.nan if depths is None else depths.usual_m,
        speed_m_s=float(np.median(known)) if known.size else math.nan,
    )
    baits = find_baits(read_baits(run.survey.folder), wishes.baits)
    feeds = _feeds(line, baits, wishes, sheet.temp_c)
    return replace(
        sheet,
        depth_to_set=depths,
        weight=weight,
        feeds=feeds,
        zone=feeding_zone(line, feeds),
    )


def _feeds(
    line: RunLine, baits: Sequence[Bait], wishes: SwimWishes, temp_c: float
) -> tuple[Feed, ...]:
    """Return where each bait is thrown and where it lands."""
    stream = Stream(
        along_m=line.along_m, depth_m=line.depth_m, speed_m_s=line.speed_m_s
    )
    feeds = []
    for bait in baits:
        settling = bait.settling(temp_c)
        thrown_m = wishes.throw_m
        if wishes.land_at_m is not None:
            thrown_m = throw_for(stream, settling, land_at_m=wishes.land_at_m)
        landed = landing(
            stream,
            depth_sd_m=line.depth_sd_m,
            speed_sd_m_s=line.speed_sd_m_s,
            thrown_m=thrown_m,
            settling=settling,
        )
        feeds.append(
            Feed(
                name=bait.name,
                title=bait.title,
                settling=settling,
                thrown_m=thrown_m,
                landing=landed,
            )
        )
    return tuple(feeds)


def _unknown(line: RunLine) -> list[str]:
    """Name what is not known along the run in the swim."""
    told = []
    pace = np.isfinite(line.speed_m_s[line.fished])
    if not pace.any():
        told.append(NO_PACE)
    elif not pace.all():
        told.append("Pace is not known on part of the run.")
    bottom = [word for word, kept in zip(line.bottom, line.fished, strict=True) if kept]
    if not any(bottom):
        told.append("The bottom was not surveyed here.")
    return told


def _sheltered(run: Run, line: RunLine, level_m: float) -> list[str]:
    """Say where the run lies in water whose pace the flow core only guesses."""
    east, north = line.easting[line.fished], line.northing[line.fished]
    inside = layer_at(run.stack, "sheltered", east, north, level_m=level_m) > HALF
    if not inside.any():
        return []
    part = "All" if inside.all() else "Part"
    return [f"{part} of the run lies in a lee or dead end: its pace is a guess."]


def _score(run: Run, peg: str, level_m: float, wishes: SwimWishes) -> SwimScore:
    return swim_score(
        run,
        peg,
        str(wishes.species),
        level_m=level_m,
        method=wishes.method,
        date=wishes.date,
        water_temp_c=wishes.water_temp_c,
    )
