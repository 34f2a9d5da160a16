"""``pegscore check``: every problem of a survey."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.survey import check_survey
from pegscore import screen
from pegscore.club_files import check_club_files

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Mapping
    from pathlib import Path

    from layers.problems import ProblemList


def run(options: Namespace) -> int:
    """Read everything and report every problem."""
    problems, survey = check_survey(options.survey)
    if options.survey.is_dir():
        check_club_files(options.survey, problems)
    absent = {} if survey is None else dict(survey.absent)
    refused = bool(problems.refusals)
    if options.json:
        screen.show_json(
            {
                "ok": not refused,
                "problems": [problem.as_dict() for problem in problems.found],
                "absent": absent,
            }
        )
    elif refused:
        screen.complain(screen.problem_lines(problems.found))
    else:
        _show_check(options.survey, problems, absent)
    return screen.REFUSED if refused else screen.DONE


def _show_check(folder: Path, problems: ProblemList, absent: Mapping[str, str]) -> None:
    for line in screen.problem_lines(problems.found):
        screen.show(line)
    for name, effect in absent.items():
        screen.show(f"absent   {name}: {effect}")
    count = screen.counted(len(problems.warnings), "warning")
    screen.show(f"{folder}: can be used; {count}")
