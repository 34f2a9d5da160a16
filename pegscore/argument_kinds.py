"""What the arguments of several commands have in common; light."""

from __future__ import annotations

import argparse
import sys
from datetime import date, datetime, time
from pathlib import Path
from typing import NoReturn, TypeAlias

from pegscore import screen


class Parser(argparse.ArgumentParser):
    """Says what was misused in one line."""

    def error(self, message: str) -> NoReturn:
        """Complain in one line and end with the status of misuse."""
        screen.complain([f"{self.prog}: {message}; see {self.prog} --help"])
        sys.exit(screen.MISUSED)


Commands: TypeAlias = "argparse._SubParsersAction[Parser]"  # noqa: SLF001 - no other name


def command(commands: Commands, name: str, text: str) -> Parser:
    """Add a command with what every command takes."""
    parser = commands.add_parser(name, help=text, description=f"{text}.".capitalize())
    parser.set_defaults(command=name)
    parser.add_argument(
        "--json", action="store_true", help="print the same answer for machines"
    )
    parser.add_argument(
        "--quiet", action="store_true", help="say nothing about progress"
    )
    return parser


def takes_survey(parser: Parser) -> None:
    """Take a survey folder."""
    parser.add_argument("survey", type=Path, metavar="SURVEY", help="a survey folder")


def takes_layers(
    parser: Parser, *, many_levels: bool = True, out_is_file: bool = False
) -> None:
    """Take where results go, the size of a cell and the river's level."""
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


def takes_method(parser: Parser) -> None:
    """Take how the swim is fished."""
    parser.add_argument(
        "--method", default="float", metavar="M", help="how the swim is fished"
    )


def takes_units(parser: Parser) -> None:
    """Take the units of what is shown."""
    parser.add_argument(
        "--units", choices=["metric", "imperial"], default="metric", help="on screen"
    )


def takes_species(parser: Parser, *, required: bool) -> None:
    """Take the species asked about; all of them where none is named."""
    parser.add_argument(
        "--species",
        required=required,
        default=None if required else "all",
        metavar="NAME",
        help="a species, several with commas between, or 'all'",
    )


def iso_date(text: str) -> date:
    """Read a date such as 2026-06-16."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f"{text!r} is not a date; write it as 2026-06-16"
        raise argparse.ArgumentTypeError(message) from None


def clock(text: str) -> time:
    """Read an hour such as 20:30."""
    try:
        return datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007 - a clock, no day
    except ValueError:
        message = f"{text!r} is not an hour; write it as 20:30"
        raise argparse.ArgumentTypeError(message) from None


def count(text: str) -> int:
    """Read a whole number above zero."""
    if not text.isdigit() or int(text) < 1:
        message = f"{text!r} is not a count; give a whole number above zero"
        raise argparse.ArgumentTypeError(message)
    return int(text)
