"""What only several survey files together can show: which way the river runs.

A centreline drawn upstream turns left into right and the water's slope upside
down, so it is looked for in everything that knows the direction of the flow.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
import shapely

from layers.bankside import along_and_across
from layers.pegs_file import against_banks
from layers.placement import look_like_degrees
from layers.sections import FILE
from layers.soundings_file import bed_height

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray
    from shapely import LineString

    from layers.placement import Stretch
    from layers.problems import ProblemList

MOST_AGAINST = 2 / 3
"""Above this share of the witnesses the centreline is held to be upstream."""

FEWEST_FLOATS, FEWEST_BANKS, FEWEST_SOUNDINGS = 2, 3, 30

RISE_M = 0.3
"""A rise of the surveyed bed over the stretch beyond what pools and bars make."""

SURE = 3.2905
"""Standard deviations of a normal law that hold 99.9 % on both sides together."""

MOST_PAIRED = 400
"""Soundings that the robust trend is fitted to: it costs their square."""

GAUGE_FAR_M = 500.0

REVERSE = "reverse the direction of the line in the GIS: it must run downstream"


class Witness(NamedTuple):
    """How many of those who know the direction speak, and how many against."""

    against: int
    heard: int

    def accuses(self, fewest: int) -> bool:
        """Say whether most speak against, and enough of them."""
        return self.heard >= fewest and self.against > MOST_AGAINST * self.heard

    def supports(self, fewest: int) -> bool:
        """Say whether most speak for, and enough of them."""
        return self.heard >= fewest and not self.accuses(fewest)


def check_direction(
    tables: dict[str, pd.DataFrame | None],
    stretch: Stretch,
    files: Mapping[str, str],
    problems: ProblemList,
) -> None:
    """Refuse a centreline that was drawn upstream.

    Floats know best, then the banks that the pegs name; the bed's fall is asked
    only where these are silent, and by itself only surveyed elevations count:
    depths hang below the water and do not show its fall.

    Parameters
    ----------
    tables : dict
        The tables read so far, by stem.
    stretch : Stretch
        The channel and the river.
    files : mapping of str to str
        The files' names by stem, for the messages.
    problems : ProblemList
        Where the problems go.
    """
    line = stretch.centreline
    if line is None:
        return
    file = files["channel"]
    floats = float_witness(tables.get("speeds"), line)
    banks = _bank_witness(tables.get("pegs"), stretch)
    if floats.accuses(FEWEST_FLOATS):
        what = f"{floats.against} of {floats.heard} float runs go against it"
    elif floats.supports(FEWEST_FLOATS):
        _warn_of_eddies(tables["speeds"], line, files["speeds"], problems)
        return
    elif banks.accuses(FEWEST_BANKS):
        what = f"{banks.against} of {banks.heard} pegs are on its other bank"
    elif banks.supports(FEWEST_BANKS):
        return
    else:
        _check_bed(tables.get("soundings"), stretch, file, problems)
        return
    _refuse(what, file, problems)


def _refuse(what: str, file: str, problems: ProblemList) -> None:
    problems.refuse(
        "centreline-upstream",
        file,
        f"the centreline seems to be drawn upstream: {what}",
        REVERSE,
    )


def float_witness(speeds: pd.DataFrame | None, line: LineString) -> Witness:
    """Return how many float runs end further up the line than they began."""
    if speeds is None:
        return Witness(0, 0)
    moved_m = _moved_m(speeds, line)
    return Witness(int((moved_m < 0).sum()), int((moved_m != 0).sum()))


def _moved_m(speeds: pd.DataFrame, line: LineString) -> pd.Series:
    runs = speeds[(speeds.kind == "float") & speeds.end_easting.notna()]
    starts, _ = along_and_across(line, runs.start_easting, runs.start_northing)
    ends, _ = along_and_across(line, runs.end_easting, runs.end_northing)
    return pd.Series(ends - starts, index=runs.index).dropna()


def _warn_of_eddies(
    speeds: pd.DataFrame | None, line: LineString, file: str, problems: ProblemList
) -> None:
    if speeds is None:
        return
    moved_m = _moved_m(speeds, line)
    for row in moved_m.index[moved_m < 0]:
        problems.warn(
            "float-upstream",
            file,
            f"the float went {-moved_m[row]:.1f} m upstream",
            "leave it if it was in an eddy, else swap its start and its end",
            row=int(row),
        )


def _bank_witness(pegs: pd.DataFrame | None, stretch: Stretch) -> Witness:
    if pegs is None:
        return Witness(0, 0)
    given = pegs.bank.notna() & pegs.easting.notna()
    return Witness(int(against_banks(pegs, stretch).sum()), int(given.sum()))


def _check_bed(
    soundings: pd.DataFrame | None, stretch: Stretch, file: str, problems: ProblemList
) -> None:
    if soundings is None or stretch.centreline is None:
        return
    along_m, _ = along_and_across(
        stretch.centreline, soundings.easting, soundings.northing
    )
    height_m = bed_height(soundings) - _fall_m(soundings, along_m, stretch)
    known = np.isfinite(along_m) & height_m.notna().to_numpy()
    if known.sum() < FEWEST_SOUNDINGS:
        return
    rise_m = surest_rise(along_m[known], height_m.to_numpy()[known])
    if rise_m <= RISE_M:
        return
    what = f"the bed rises {rise_m:.1f} m along it"
    if soundings.bed_m.notna().any():
        _refuse(what, file, problems)
        return
    problems.warn(
        "bed-rises",
        file,
        f"{what}, as far as depths below the water can show",
        f"if the centreline was drawn upstream, {REVERSE}",
    )


def _fall_m(
    soundings: pd.DataFrame, along_m: NDArray[np.float64], stretch: Stretch
) -> pd.Series:
    """Return the fall of the water that depths hang from; none for elevations."""
    slope = None if stretch.river is None else stretch.river.gauge.slope
    fall_m = pd.Series((slope or 0.0) * along_m, index=soundings.index)
    return fall_m.where(soundings.bed_m.isna(), 0.0)


def surest_rise(along_m: NDArray[np.float64], height_m: NDArray[np.float64]) -> float:
    """Return the rise over the stretch that a robust trend is sure of, metres.

    The lower end of the 99.9 % confidence interval of the Theil-Sen slope, times
    the length; not above zero where the bed falls or has no trend.

    References
    ----------
    Sen, P. K. (1968). Estimates of the regression coefficient based on
    Kendall's tau. Journal of the American Statistical Association 63,
    1379-1389.  [M]

    Examples
    --------
    >>> along_m = np.arange(100.0)
    >>> surest_rise(along_m, 0.01 * along_m)
    0.99
    """
    step = -(-len(along_m) // MOST_PAIRED)
    order = np.argsort(along_m, kind="stable")[::step]
    first, second = np.triu_indices(len(order), k=1)
    run_m = along_m[order][second] - along_m[order][first]
    rise_m = height_m[order][second] - height_m[order][first]
    slopes = np.sort(rise_m[run_m > 0] / run_m[run_m > 0])
    if not len(slopes):
        return 0.0
    n = len(order)
    spread = SURE * np.sqrt(n * (n - 1) * (2 * n + 5) / 18)
    lowest = max(round((len(slopes) - spread) / 2) - 1, 0)
    return float(slopes[lowest] * (along_m.max() - along_m.min()))


def check_gauge(stretch: Stretch, problems: ProblemList) -> None:
    """Refuse a gauge board in degrees or swapped; warn of one far from the water."""
    if stretch.river is None or stretch.water is None:
        return
    gauge, water = stretch.river.gauge, stretch.water
    east, north = gauge.easting, gauge.northing
    at = {"column": "gauge.x", "value": f"{east:g}"}
    if look_like_degrees([east], [north], water):
        what = "x and y of the gauge look like longitude and latitude"
        advice = "if they are WGS 84 degrees, rename the keys to lon and lat"
        problems.refuse("degrees-as-metres", FILE, what, advice, **at)
    elif water.distance(shapely.Point(east, north)) <= GAUGE_FAR_M:
        return
    elif water.distance(shapely.Point(north, east)) <= GAUGE_FAR_M:
        what = "the gauge is nowhere near the river, but with x and y swapped it is"
        problems.refuse("swapped-xy", FILE, what, "swap x and y under [gauge]", **at)
    else:
        what = f"the gauge board stands more than {GAUGE_FAR_M:g} m from the water"
        advice = "check x and y (or lon and lat) under [gauge]"
        problems.warn("gauge-far", FILE, what, advice, **at)
