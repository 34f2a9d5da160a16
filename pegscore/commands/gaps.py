"""``pegscore gaps``: where the next measurement is worth most."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.exports.survey_points import BOAT_CAUTION, placed, write_gaps
from pegscore.gap_question import KINDS
from pegscore.gaps import TOP, find_gaps
from pegscore.opening import level_asked, open_asked
from pegscore.species import find_species

if TYPE_CHECKING:
    from argparse import Namespace

    import geopandas as gpd

HEADER = ["order", "measure", "grid reference", "gain", "why"]


def run(options: Namespace) -> int:
    """Say where the next soundings, grabs or float runs would change decisions most."""
    progress = screen.ProgressLines(silent=options.quiet)
    opened = open_asked(options, progress, out=options.out)
    names = find_species(opened.species, options.species)
    gaps = find_gaps(
        opened,
        names,
        level_m=level_asked(options, opened),
        count=options.count,
        kinds=[options.kind.replace("-", " ")] if options.kind else KINDS,
        progress=progress,
    )
    files = write_gaps(gaps, opened.survey.river.name, opened.out)
    progress("done")
    if options.json:
        screen.show_json(
            {"caution": BOAT_CAUTION, "gaps": screen.records(placed(gaps))}
        )
        return screen.DONE
    _show(placed(gaps), len(names))
    screen.show(f"Written: {files[0]} and {files[1].name}")
    return screen.DONE


def _show(gaps: gpd.GeoDataFrame, species: int) -> None:
    if gaps.empty:
        screen.show("No measurement is expected to change which pegs are best.")
        return
    kinds = f"{species} species"
    screen.show(
        screen.wrapped(
            "Gain: by how much the mean score of the best "
            f"{TOP} pegs should rise, over {kinds}, if the place is measured after "
            "those above it."
        )
    )
    rows = [
        [str(order), str(kind), str(place), f"{gain:.4f}", str(why)]
        for order, kind, place, gain, why in zip(
            *(gaps[n] for n in ("order", "kind", "grid_reference", "gain", "why")),
            strict=True,
        )
    ]
    screen.show(screen.text_table(HEADER, rows))
    screen.show(screen.wrapped(BOAT_CAUTION, first="! "))
