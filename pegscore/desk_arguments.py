"""The arguments of the committee's desk: where pegs go, stretches, what if."""

from __future__ import annotations

import argparse
from pathlib import Path

from pegscore.argument_kinds import (
    Commands,
    Parser,
    command,
    count,
    iso_date,
    takes_layers,
    takes_method,
    takes_species,
    takes_survey,
    takes_units,
)


def add_desk(commands: Commands) -> None:
    """Add the committee's commands with their arguments."""
    _add_layout(commands)
    _add_stretch(commands)
    _add_whatif(commands)


def _add_layout(commands: Commands) -> None:
    parser = command(commands, "layout", "plan where pegs go, or check a drawn plan")
    parser.epilog = (
        "example: pegscore layout our-stretch --pegs 60 --spacing 15 "
        "--species barbel=2,chub --keep 4,5 --step-free 4"
    )
    takes_survey(parser)
    takes_layers(parser)
    _takes_banks(parser)
    takes_method(parser)
    parser.add_argument("--pegs", type=count, metavar="N", help="how many pegs")
    parser.add_argument(
        "--spacing",
        type=float,
        metavar="M",
        help="least straight line between two pegs of one bank, metres",
    )
    parser.add_argument(
        "--species",
        default="all",
        metavar="NAMES",
        help="what the pegs are for, with weights if wanted: barbel=2,chub",
    )
    _takes_rules(parser)
    _takes_drawing(parser)


def _add_stretch(commands: Commands) -> None:
    parser = command(commands, "stretch", "find the best stretches of bank")
    parser.epilog = "example: pegscore stretch our-stretch --species chub --length 80"
    takes_survey(parser)
    takes_layers(parser, many_levels=False)
    _takes_banks(parser)
    takes_method(parser)
    takes_units(parser)
    takes_species(parser, required=True)
    parser.add_argument(
        "--length",
        type=float,
        default=100.0,
        metavar="M",
        help="metres along the bank (default 100)",
    )
    parser.add_argument(
        "--top", type=count, default=3, metavar="N", help="how many (default 3)"
    )


def _add_whatif(commands: Commands) -> None:
    parser = command(commands, "whatif", "rank the pegs of a river that was changed")
    parser.epilog = (
        "example: pegscore whatif our-stretch --species barbel "
        "--add-gravel below-the-bridge.geojson"
    )
    takes_survey(parser)
    parser.add_argument(
        "scenario", nargs="?", type=Path, metavar="SCENARIO", help="edits as TOML"
    )
    takes_layers(parser, many_levels=False)
    takes_method(parser)
    parser.add_argument("--species", required=True, metavar="NAME")
    parser.add_argument(
        "--add-gravel",
        action="append",
        default=[],
        metavar="AREA",
        help="an area that becomes gravel: a file, or the name of a place",
    )
    parser.add_argument(
        "--fell",
        action="append",
        default=[],
        metavar="TREE",
        help="a tree of the places by its name, or 'all'",
    )


def _takes_drawing(parser: Parser) -> None:
    parser.add_argument(
        "--step",
        type=float,
        default=1.0,
        metavar="M",
        help="metres of bank between candidates (default 1)",
    )
    parser.add_argument(
        "--from",
        dest="drawn",
        type=Path,
        metavar="FILE",
        help="check a layout drawn as GeoJSON instead of planning one",
    )


def _takes_rules(parser: Parser) -> None:
    parser.add_argument(
        "--keep", default="", metavar="PEGS", help="pegs that must stay: 4,12 or 'all'"
    )
    parser.add_argument(
        "--step-free", type=int, default=0, metavar="K", help="at least K step-free"
    )
    parser.add_argument(
        "--near-path",
        type=float,
        default=10.0,
        metavar="M",
        help="so near to a step-free path counts as step-free, metres (default 10)",
    )
    parser.add_argument(
        "--sections",
        type=int,
        default=0,
        metavar="S",
        help="for a match: even pegs, in S even sections",
    )
    parser.add_argument(
        "--across",
        action=argparse.BooleanOptionalAction,
        default=True,
        help="no two pegs of opposite banks fish the same water (default)",
    )


def _takes_banks(parser: Parser) -> None:
    parser.add_argument(
        "--clearance",
        type=float,
        default=30.0,
        metavar="M",
        help="from overhead lines, metres; never below the advised 30",
    )
    parser.add_argument(
        "--date",
        type=iso_date,
        metavar="YYYY-MM-DD",
        help="the day planned for (default: all year, spawning gravel always kept)",
    )
