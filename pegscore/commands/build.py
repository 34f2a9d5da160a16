"""``pegscore build``: a survey to layers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.survey import read_survey
from pegscore import screen
from pegscore.workflow import build_layers

if TYPE_CHECKING:
    from argparse import Namespace


def run(options: Namespace) -> int:
    """Turn a survey into layers."""
    progress = screen.ProgressLines(silent=options.quiet)
    progress("reading the survey")
    survey = read_survey(options.survey)
    out = options.out or options.survey / "out"
    stack, reused = build_layers(
        survey,
        out,
        cell_m=options.cell,
        levels_m=options.level or (),
        progress=progress,
    )
    answer = {
        "river": survey.river.name,
        "layers": str(out / "layers"),
        "levels_m": stack.levels_m,
        "cell_m": stack.grid.cell_m,
        "reused": reused,
        "notes": stack.notes,
        "warnings": [problem.line() for problem in survey.warnings],
    }
    if options.json:
        screen.show_json(answer)
        return screen.DONE
    screen.show(f"{survey.river.name}: layers in {out / 'layers'}")
    screen.show("levels: " + ", ".join(f"{level:.3f} m" for level in stack.levels_m))
    for note in stack.notes:
        screen.show(f"- {note}")
    count = screen.counted(len(survey.warnings), "warning")
    screen.show(f"{count}; see: pegscore check {options.survey}")
    return screen.DONE
