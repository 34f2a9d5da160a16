"""The command line: a thin shell over ``pegscore.workflow``.

Status 0 done, 1 refused input, 2 misuse. A command's module is loaded
when it is called, so that ``--help`` answers at once.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import TYPE_CHECKING

from layers.errors import LayerError, SurveyRefused
from pegscore import screen
from pegscore.argument_kinds import Parser
from pegscore.arguments import add_commands
from pegscore.desk_arguments import add_desk
from pegscore.errors import PegError
from pegscore.wording import NO_PROMISE

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

INTERRUPTED = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    options = build_parser().parse_args(argv)
    try:
        return _run(options)
    except KeyboardInterrupt:
        screen.complain(["stopped; files of earlier runs are as they were"])
        return INTERRUPTED
    except BrokenPipeError:
        return _leave_quietly()
    except (LayerError, PegError, OSError, MemoryError) as error:
        return _refuse(error, machine=options.json)


def _refuse(error: Exception, *, machine: bool) -> int:
    """Say why nothing was done: a line a problem, and as JSON if that was wanted."""
    lines = _lines_of(error)
    screen.complain(lines)
    if machine:
        problems = (
            [problem.as_dict() for problem in error.problems]
            if isinstance(error, SurveyRefused)
            else [{"what": line, "refused": True} for line in lines]
        )
        screen.show_json({"ok": False, "problems": problems})
    return screen.REFUSED


def _lines_of(error: Exception) -> list[str]:
    if isinstance(error, MemoryError):
        return ["not enough memory for so many cells; choose a larger --cell"]
    if isinstance(error, OSError):
        reason = (error.strerror or str(error)).lower()
        where = error.filename or "a file"
        return [f"{where}: {reason}; make way there or choose another place"]
    return str(error).splitlines()


def _leave_quietly() -> int:
    """End when the reader has gone, as ``head`` does, with nothing more to flush."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return screen.REFUSED


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of every command."""
    parser = Parser(
        prog="pegscore",
        description="Which numbered river pegs suit which fish, why, and on what "
        "evidence.",
        epilog=NO_PROMISE,
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True, title="commands")
    add_commands(commands)
    add_desk(commands)
    return parser


def _run(options: argparse.Namespace) -> int:
    command = import_module(f"pegscore.commands.{options.command}")
    status: int = command.run(options)
    return status
