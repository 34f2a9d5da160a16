"""The arguments of every command; light, so that ``--help`` answers at once."""

from __future__ import annotations

from pathlib import Path

from pegscore.argument_kinds import (
    Commands,
    Parser,
    clock,
    command,
    count,
    iso_date,
    takes_layers,
    takes_method,
    takes_species,
    takes_survey,
    takes_units,
)


def add_commands(commands: Commands) -> None:
    """Add every command with its arguments."""
    _add_demo(commands)
    _add_check(commands)
    _add_build(commands)
    _add_rank(commands)
    _add_swim(commands)
    _add_gaps(commands)
    _add_train(commands)
    _add_map(commands)
    _add_export(commands)
    _add_fleet(commands)
    _add_where(commands)


def _add_demo(commands: Commands) -> None:
    parser = command(
        commands, "demo", "copy the fictional river and run everything on it"
    )
    parser.epilog = "example: pegscore demo my-first-river"
    parser.add_argument(
        "folder", nargs="?", type=Path, default=Path("pegscore-demo"), metavar="DIR"
    )


def _add_check(commands: Commands) -> None:
    parser = command(commands, "check", "read a survey and report every problem in it")
    parser.epilog = "example: pegscore check our-stretch"
    takes_survey(parser)


def _add_build(commands: Commands) -> None:
    parser = command(commands, "build", "turn a survey into layers")
    parser.epilog = "example: pegscore build our-stretch --level 0.4 --level 0.9"
    takes_survey(parser)
    takes_layers(parser)


def _add_rank(commands: Commands) -> None:
    parser = command(commands, "rank", "put the pegs in order for a species")
    parser.epilog = (
        "example: pegscore rank our-stretch --species barbel --top 5 --date 2026-07-04 "
        "--hour 20:30 --water-temp 17"
    )
    takes_survey(parser)
    takes_layers(parser, many_levels=False)
    takes_method(parser)
    takes_units(parser)
    takes_species(parser, required=True)
    _takes_day(parser)
    parser.add_argument("--top", type=count, metavar="N", help="show only the best N")
    parser.add_argument(
        "--step-free", action="store_true", help="show only pegs with a step-free way"
    )
    parser.add_argument(
        "--within",
        type=float,
        metavar="M",
        help="show only pegs with a walk of so many metres or less",
    )
    _takes_ranker(parser)


def _takes_ranker(parser: Parser) -> None:
    parser.add_argument(
        "--ranker",
        type=Path,
        metavar="FILE",
        help="another river's ranker.json, believed by half at most",
    )
    parser.add_argument(
        "--explore",
        action="store_true",
        help="order the pegs by what one more visit would teach the club",
    )


def _takes_day(parser: Parser) -> None:
    parser.add_argument("--date", type=iso_date, metavar="YYYY-MM-DD")
    parser.add_argument(
        "--hour", type=clock, metavar="HH:MM", help="by the clock; needs --date"
    )
    parser.add_argument(
        "--zone",
        metavar="NAME",
        help="the clock's zone, as Europe/London (default: this machine's)",
    )
    parser.add_argument(
        "--water-temp", type=float, metavar="C", help="water temperature, Celsius"
    )
    parser.add_argument(
        "--oxygen-mg-l",
        dest="oxygen",
        type=float,
        metavar="MG",
        help="dissolved oxygen as measured, milligrams a litre",
    )
    parser.add_argument(
        "--clarity", choices=["clear", "tinged", "coloured"], help="of the water"
    )
    parser.add_argument(
        "--wind", type=float, metavar="M_S", help="wind, metres a second: for cautions"
    )


def _add_swim(commands: Commands) -> None:
    parser = command(
        commands, "swim", "one peg's water, and where loose feed lands in it"
    )
    parser.epilog = "example: pegscore swim our-stretch 31 --species barbel --pdf"
    takes_survey(parser)
    parser.add_argument("peg", metavar="PEG", help="as the club writes it")
    takes_layers(parser, many_levels=False)
    takes_method(parser)
    takes_units(parser)
    parser.add_argument("--species", metavar="NAME", help="score the swim for it")
    parser.add_argument("--date", type=iso_date, metavar="YYYY-MM-DD")
    parser.add_argument(
        "--water-temp", type=float, metavar="C", help="water temperature, Celsius"
    )
    _takes_feed(parser)
    parser.add_argument(
        "--pdf", action="store_true", help="write the sheet as a page too"
    )


def _takes_feed(parser: Parser) -> None:
    parser.add_argument(
        "--out-m", type=float, metavar="M", help="the run line's distance out, metres"
    )
    parser.add_argument(
        "--bait",
        action="append",
        metavar="NAME",
        help="what is fed, several with commas between; may be repeated",
    )
    parser.add_argument(
        "--throw",
        type=float,
        default=1.0,
        metavar="M",
        help="where feed is thrown, metres downstream (default 1)",
    )
    parser.add_argument(
        "--land-at",
        type=float,
        metavar="M",
        help="where feed shall land instead, metres downstream",
    )


def _add_gaps(commands: Commands) -> None:
    parser = command(commands, "gaps", "where the next measurement is worth most")
    parser.epilog = "example: pegscore gaps our-stretch --species barbel --count 12"
    takes_survey(parser)
    takes_layers(parser, many_levels=False)
    takes_method(parser)
    takes_species(parser, required=False)
    parser.add_argument("--count", type=count, default=20, metavar="N")
    parser.add_argument(
        "--kind",
        choices=["sounding", "grab", "float-run"],
        help="measure only this (default: whatever tells most)",
    )


def _add_train(commands: Commands) -> None:
    parser = command(
        commands, "train", "learn from the catch returns, if that proves to help"
    )
    parser.epilog = "example: pegscore train our-stretch --species barbel,chub"
    takes_survey(parser)
    parser.add_argument(
        "-o", "--out", type=Path, metavar="OUT", help="default SURVEY/out"
    )
    parser.add_argument(
        "--cell", type=float, default=1.0, metavar="M", help="cell size, metres"
    )
    takes_species(parser, required=False)


def _add_map(commands: Commands) -> None:
    parser = command(commands, "map", "write the map: one file, no network")
    parser.epilog = "example: pegscore map our-stretch -o our-map.html"
    takes_survey(parser)
    takes_layers(parser, out_is_file=True)
    takes_method(parser)
    parser.add_argument(
        "--for",
        dest="edition",
        choices=["members", "committee"],
        default="members",
        help="the committee's holds notes, returns and spawning places",
    )
    parser.add_argument(
        "--tiles",
        metavar="URL",
        help="a background from the network, off until switched on: https with "
        "{z}, {x} and {y}",
    )
    parser.add_argument(
        "--tiles-credit", default="", metavar="TEXT", help="whose background it is"
    )


def _add_export(commands: Commands) -> None:
    parser = command(commands, "export", "files for members or for the committee")
    parser.epilog = "example: pegscore export our-stretch --for members"
    takes_survey(parser)
    takes_layers(parser)
    takes_method(parser)
    parser.add_argument(
        "--for",
        dest="audience",
        required=True,
        choices=["members", "committee"],
        help="members get no spawning places, private notes or returns",
    )
    parser.add_argument("--paper", choices=["a4", "a3"], default="a4")


def _add_fleet(commands: Commands) -> None:
    parser = command(
        commands, "fleet", "score a place every metre of many rivers, on a cluster"
    )
    parser.epilog = "example: pegscore fleet rivers/* -o scores --species barbel,chub"
    parser.add_argument(
        "folders", nargs="+", type=Path, metavar="FOLDER", help="survey folders"
    )
    parser.add_argument(
        "-o", "--out", type=Path, default=Path("fleet"), metavar="OUT",
        help="where the tables go (default fleet)",
    )  # fmt: skip
    parser.add_argument(
        "--scheduler", metavar="ADDRESS", help="a dask scheduler, tcp://...; else here"
    )
    parser.add_argument(
        "--workers", type=count, metavar="N", help="processes to start here"
    )
    _takes_sweep(parser)


def _takes_sweep(parser: Parser) -> None:
    """Take how finely and for which fish rivers are swept."""
    for name, default, text in (
        ("--step", 1.0, "metres of bank between places"),
        ("--block", 1000.0, "metres of river a block"),
        ("--cell", 1.0, "cell size, metres"),
        ("--level", None, "a reading of the board (default: each river.toml's)"),
    ):
        parser.add_argument(name, type=float, default=default, metavar="M", help=text)
    takes_species(parser, required=False)
    parser.add_argument(
        "--method", default="float", metavar="M", help="how the swims are fished"
    )


def _add_where(commands: Commands) -> None:
    parser = command(commands, "where", "versions and paths, for a bug report")
    parser.epilog = "example: pegscore where"
