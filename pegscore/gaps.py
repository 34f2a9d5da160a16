"""Where the next soundings, grabs or float runs would change the choice of pegs most.

The layers' standard errors say how wrong each may be. Fields of such errors are drawn,
every peg is scored under every draw, and for each place in the water it is asked how
much better the best pegs could be chosen if it were measured. Places are picked one
after another, so that two do not tell the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np

from layers.pipeline import quiet
from pegscore.gap_question import KINDS, ask
from pegscore.worth import Plan

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from pegscore.gap_question import Question
    from pegscore.workflow import Run

    Floats = NDArray[np.float64]

LEAST_GAIN = 1e-6
"""A gain below this is nothing."""

TOP = 5
"""So many best pegs are to be chosen; our proposal."""

WALK_M = 300.0
"""A place this far from the nearest already picked is worth half as much; our proposal:
moving on costs the boat's crew time."""


def find_gaps(
    run: Run,
    names: Sequence[str],
    *,
    level_m: float,
    count: int = 20,
    kinds: Sequence[str] = KINDS,
    seed: int = 20,
    progress: Callable[[str], None] = quiet,
) -> gpd.GeoDataFrame:
    """Return the places to measure next, most telling first.

    Parameters
    ----------
    run : Run
    names : sequence of str
        The species whose best pegs are to be chosen; all count alike.
    level_m : float
        A built level of the board.
    count : int, default=20
        How many places at most; fewer if no more would change anything.
    kinds : sequence of {'sounding', 'grab', 'float run'}
        What the club is ready to do.
    seed : int
        Of the draws; the same seed gives the same plan.
    progress : callable

    Returns
    -------
    GeoDataFrame, in the survey's system
        ``order``, ``kind``, ``easting``, ``northing``, ``chainage_m``, ``sd`` (of the
        layer there, in its unit: m, standard deviations, m/s), ``gain`` (score points
        by which the best five pegs' mean is expected to rise, over all species),
        ``pegs`` (those that hang on it most) and ``why``.
    """
    progress("drawing what the survey may have wrong")
    question = ask(run, names, level_m=level_m, kinds=kinds, seed=seed)
    progress(f"weighing {len(question.sites)} places")
    picked = _picked(question, count)
    rows = question.sites.loc[[site for site, _, _ in picked]].reset_index(drop=True)
    rows["order"] = np.arange(1, len(rows) + 1)
    rows["gain"] = [gain for _, gain, _ in picked]
    rows["pegs"] = [", ".join(pegs) for _, _, pegs in picked]
    rows["why"] = [_why(row) for row in rows.itertuples()]
    seats = gpd.points_from_xy(rows["easting"], rows["northing"])
    return gpd.GeoDataFrame(rows, geometry=seats, crs=run.survey.river.crs)


def _picked(question: Question, count: int) -> list[tuple[int, float, list[str]]]:
    """Pick sites one after another: position, gain and the pegs that hang on it.

    What a site adds can only shrink as others are picked, or nearly so; a site whose
    last known gain is below the best new one is not asked again.
    """
    plan = Plan(question.drawn, question.seen, question.near, top=TOP)
    along = question.sites["chainage_m"].to_numpy(float)
    gain = np.array([plan.gain(site) for site in range(len(along))])
    away = np.zeros(len(along))
    picked: list[tuple[int, float, list[str]]] = []
    while len(picked) < count:
        site = _best(plan, gain, 1.0 / (1.0 + away / WALK_M))
        if gain[site] <= LEAST_GAIN:
            break
        moved = plan.moved(site)
        most = np.argsort(-moved, kind="stable")[:3]
        pegs = [question.pegs[peg] for peg in most if moved[peg] > 0]
        picked.append((site, float(gain[site]), pegs))
        plan.pick(site)
        gain[site] = 0.0
        here = np.abs(along - along[site])
        away = here if len(picked) == 1 else np.minimum(away, here)
    return picked


def _best(plan: Plan, gain: Floats, nearness: Floats) -> int:
    """Return the site worth most, asking again only those that could be it."""
    asked: set[int] = set()
    while True:
        site = int(np.argmax(gain * nearness))
        if site in asked or gain[site] <= 0:
            return site
        gain[site] = plan.gain(site)
        asked.add(site)


UNITS = {"sounding": "depth ± {:.2f} m", "float run": "pace ± {:.2f} m/s"}


def _why(row: object) -> str:
    """Say in plain words why a place was picked."""
    kind, sd, pegs = (getattr(row, name) for name in ("kind", "sd", "pegs"))
    doubt = UNITS[kind].format(sd) if kind in UNITS else "kind of bottom in doubt"
    many = "pegs" if "," in pegs else "peg"
    return f"{doubt} here; the order of {many} {pegs} hangs on it"
