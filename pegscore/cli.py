"""The command line: a thin shell over ``pegscore.workflow``.

Status 0 done, 1 refused input, 2 misuse. Rooms are imported inside the
commands so that ``--help`` answers at once.
"""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TypeAlias

from layers.errors import LayerError
from pegscore import screen
from pegscore.errors import PegError

if TYPE_CHECKING:
    from collections.abc import Sequence

REFUSED, MISUSED = 1, 2

NO_PROMISE = (
    "A guide, not a promise. A hazard that is missing here is no proof of safety; "
    "local rules, byelaws and the bank itself come first."
)


class _Parser(argparse.ArgumentParser):
    """Says what was misused in one line."""

    def error(self, message: str) -> NoReturn:
        screen.complain([f"{self.prog}: {message}; see {self.prog} --help"])
        sys.exit(MISUSED)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    options = build_parser().parse_args(argv)
    try:
        return _run(options)
    except (LayerError, PegError) as error:
        screen.complain(str(error).splitlines())
        return REFUSED
    except OSError as error:
        screen.complain([f"{error.filename or 'a file'}: {error.strerror or error}"])
        return REFUSED


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of every command."""
    parser = _Parser(
        prog="pegscore",
        description="Which numbered river pegs suit which fish, why, and on what "
        "evidence.",
        epilog=NO_PROMISE,
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True, title="commands")
    _add_demo(commands)
    _add_check(commands)
    _add_build(commands)
    _add_rank(commands)
    _add_map(commands)
    _add_where(commands)
    return parser


_Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"  # noqa: SLF001 - no other name


def _run(options: argparse.Namespace) -> int:
    from pegscore.commands import COMMANDS  # noqa: PLC0415 - loads the heavy rooms

    return COMMANDS[options.command](options)


def _add_demo(commands: _Commands) -> None:
    parser = _command(
        commands, "demo", "copy the fictional river and run everything on it"
    )
    parser.epilog = "example: pegscore demo my-first-river"
    parser.add_argument(
        "folder", nargs="?", type=Path, default=Path("pegscore-demo"), metavar="DIR"
    )


def _add_check(commands: _Commands) -> None:
    parser = _command(commands, "check", "read a survey and report every problem in it")
    parser.epilog = "example: pegscore check our-stretch"
    _takes_survey(parser)


def _add_build(commands: _Commands) -> None:
    parser = _command(commands, "build", "turn a survey into layers")
    parser.epilog = "example: pegscore build our-stretch --level 0.4 --level 0.9"
    _takes_survey(parser)
    _takes_layers(parser)


def _add_rank(commands: _Commands) -> None:
    parser = _command(commands, "rank", "put the pegs in order for a species")
    parser.epilog = "example: pegscore rank our-stretch --species barbel --top 5"
    _takes_survey(parser)
    _takes_layers(parser, many_levels=False)
    _takes_method(parser)
    parser.add_argument(
        "--species",
        required=True,
        metavar="NAME",
        help="a species, several with commas between, or 'all'",
    )
    parser.add_argument("--date", type=_iso_date, metavar="YYYY-MM-DD")
    parser.add_argument(
        "--water-temp", type=float, metavar="C", help="water temperature, Celsius"
    )
    parser.add_argument("--top", type=_count, metavar="N", help="show only the best N")


def _add_map(commands: _Commands) -> None:
    parser = _command(commands, "map", "write the map: one file, no network")
    parser.epilog = "example: pegscore map our-stretch -o our-map.html"
    _takes_survey(parser)
    _takes_layers(parser, out_is_file=True)
    _takes_method(parser)


def _add_where(commands: _Commands) -> None:
    parser = _command(commands, "where", "versions and paths, for a bug report")
    parser.epilog = "example: pegscore where"


def _command(commands: _Commands, name: str, text: str) -> _Parser:
    parser = commands.add_parser(name, help=text, description=f"{text}.".capitalize())
    parser.set_defaults(command=name)
    parser.add_argument(
        "--json", action="store_true", help="print the same answer for machines"
    )
    parser.add_argument(
        "--quiet", action="store_true", help="say nothing about progress"
    )
    return parser


def _takes_survey(parser: _Parser) -> None:
    parser.add_argument("survey", type=Path, metavar="SURVEY", help="a survey folder")


def _takes_layers(
    parser: _Parser, *, many_levels: bool = True, out_is_file: bool = False
) -> None:
    parser.add_argument(
        "-o",
        "--out",
        type=Path,
        metavar="FILE" if out_is_file else "OUT",
        help="where the map goes (default SURVEY/out/map.html)"
        if out_is_file
        else "where results go (default SURVEY/out)",
    )
    parser.add_argument(
        "--cell", type=float, default=1.0, metavar="M", help="cell size, metres"
    )
    parser.add_argument(
        "--level",
        type=float,
        action="append" if many_levels else "store",
        metavar="M",
        help="a reading of the gauge board, metres (default: river.toml's)"
        + ("; may be repeated" if many_levels else ""),
    )


def _takes_method(parser: _Parser) -> None:
    parser.add_argument(
        "--method", default="float", metavar="M", help="how the swim is fished"
    )
    parser.add_argument(
        "--units", choices=["metric", "imperial"], default="metric", help="on screen"
    )


def _iso_date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f"{text!r} is not a date; write it as 2026-06-16"
        raise argparse.ArgumentTypeError(message) from None


def _count(text: str) -> int:
    if not text.isdigit() or int(text) < 1:
        message = f"{text!r} is not a count; give a whole number above zero"
        raise argparse.ArgumentTypeError(message)
    return int(text)
