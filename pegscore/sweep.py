"""A great many places at once: water and scores for all species, one row a swim.

What ``pegscore.ranking`` works out for a club's pegs with intervals and reasons, this
does in bulk and without them, for a candidate place every metre of a whole river.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from layers.errors import LevelMissing
from pegscore.compiled import runs_compiled
from pegscore.coverage import gather_cells, gather_runs
from pegscore.curves import Curve, CurvePoint
from pegscore.errors import PegError
from pegscore.suitability import combine, factors
from pegscore.zonal import swim_deviation, swim_mean, swim_quantiles

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    import geopandas as gpd
    from numpy.typing import NDArray

    from layers.stack import Stack
    from pegscore.compiled import Engine
    from pegscore.coverage import Weighting
    from pegscore.species import Species

    Floats = NDArray[np.float64]
    Layer = NDArray[np.float32]

FACTORS = ("depth", "speed", "substrate")
"""What a score can be made of."""

RULES = ("product", "geometric", "minimum")
"""As the kernel numbers them."""

GUIDE_POSTS = 256
"""How finely the range of a curve is cut to look up the piece a value lies on."""

ANY = Curve((CurvePoint(0.0, 1.0, "P"), CurvePoint(1.0, 1.0, "P")))
"""The curve of what is no factor."""


class Task(NamedTuple):
    """What is asked of every swim."""

    level_m: float
    species: Mapping[str, Species]
    factors: Collection[str]
    weighting: Weighting = "coverage"
    rule: str = "product"


def sweep(
    stack: Stack,
    swims: gpd.GeoSeries,
    task: Task,
    *,
    engine: Engine = "auto",
    threads: int = 1,
) -> pd.DataFrame:
    """Return each swim's water, and its score for every species.

    Parameters
    ----------
    stack : Stack
        The layers, or a block of them.
    swims : GeoSeries of Polygon or MultiPolygon
        In the stack's reference system.
    task : Task
        The level, the species and how they are scored. ``factors`` says which of
        depth, speed and bottom count; see ``known_factors``.
    engine : {"auto", "compiled", "numpy"}, default="auto"
        Who does it, see ``pegscore.compiled``: alike to 1e-9.
    threads : int, default=1
        In how many pieces the swims are done side by side; compiled only. A swim's
        numbers do not depend on it.

    Returns
    -------
    DataFrame, index as ``swims``
        ``swim_area_m2``, ``wet_area_m2``; ``depth_m`` (mean), ``depth_sd_m``,
        ``depth_p50_m``, the same of ``speed`` in m/s, ``<class>_share``, over wet
        cells as in ``swim_features``; ``score_<species>`` as ``pegscore.rank`` has
        it. ``NaN`` where nothing is known.

    Raises
    ------
    PegError
        If the rule is unknown, or as ``gather_cells``.
    LevelMissing
        If the stack was not built at the level.
    """
    if task.rule not in RULES:
        message = f"rule {task.rule!r} is not known; choose {', '.join(RULES)}"
        raise PegError(message)
    area_m2 = np.asarray(swims.area, np.float64)
    cells = area_m2.sum() / stack.grid.cell_area_m2
    swept = _compiled if runs_compiled(engine, cells) else _plain
    if swept is _plain or threads == 1:
        tables = [swept(stack, swims, task)]
    else:
        cuts = np.linspace(0, len(swims), threads + 1).astype(int)
        pieces = [swims.iloc[a:b] for a, b in pairwise(cuts)]
        with ThreadPoolExecutor(threads) as pool:
            tables = list(pool.map(lambda piece: swept(stack, piece, task), pieces))
    table = pd.concat(tables) if len(tables) > 1 else tables[0]
    table.insert(0, "swim_area_m2", area_m2)
    return table


def known_factors(stack: Stack, *, level_m: float) -> tuple[str, ...]:
    """Return the factors of which the stack knows anything, as ``rank`` uses them.

    A layer that is unknown in every cell is no factor; a product of three is never
    compared with one of two.
    """
    speed = _layer(stack, "speed", level_m)
    known = {
        "depth": True,
        "speed": bool(np.isfinite(speed).any()),
        "substrate": any(np.isfinite(share).any() for share in stack.shares().values()),
    }
    return tuple(name for name in FACTORS if known[name])


def _compiled(stack: Stack, swims: gpd.GeoSeries, task: Task) -> pd.DataFrame:
    runs = tuple(
        gather_runs(stack.grid, swims, weighting=task.weighting, engine="compiled")
    )
    selection = import_module("pegscore.selection")
    depth = _layer(stack, "depth", task.level_m).ravel()
    speed = _layer(stack, "speed", task.level_m).ravel()
    middle = np.array([0.5])
    deep = selection.band_summaries(depth, depth, runs, middle)
    fast = selection.band_summaries(speed, depth, runs, middle)
    table = _named(deep[:, 0] * stack.grid.cell_area_m2, deep[:, 1:].T, fast[:, 1:].T)
    shares = stack.shares()
    for name, share in shares.items():
        table[f"{name}_share"] = selection.band_means(share.ravel(), depth, runs)
    bed = stack.layer("bed").ravel()
    none = np.empty(0, np.float32)
    bottom = np.stack([share.ravel() for share in shares.values()] or [depth[:0]])
    water = (
        bed,
        depth,
        speed if "speed" in task.factors else none,
        bottom if "substrate" in task.factors else bottom[:0],
    )
    tables = curve_tables(task, list(shares))
    kernel = import_module("pegscore.fused").species_scores
    scores = kernel(water, tables, runs, RULES.index(task.rule))
    table |= {f"score_{name}": scores[:, i] for i, name in enumerate(task.species)}
    return pd.DataFrame(table, index=swims.index)


def _plain(stack: Stack, swims: gpd.GeoSeries, task: Task) -> pd.DataFrame:
    cells = gather_cells(stack.grid, swims, weighting=task.weighting, engine="numpy")
    count = len(swims)

    def at(layer: Layer) -> Floats:
        return layer.ravel()[cells.cell].astype(np.float64)

    depth_m = at(_layer(stack, "depth", task.level_m))
    speed_m_s = at(_layer(stack, "speed", task.level_m))
    shares = {name: at(share) for name, share in stack.shares().items()}
    is_wet = ~np.isnan(depth_m)
    wet = cells.only(is_wet)
    deep, fast = (
        (
            swim_mean(values, wet, count),
            swim_deviation(values, wet, count),
            swim_quantiles(values, wet, count, shares=[0.5], engine="numpy")[:, 0],
        )
        for values in (depth_m[is_wet], speed_m_s[is_wet])
    )
    wet_cells = np.bincount(wet.swim, wet.weight, count)
    wet_area_m2 = np.asarray(wet_cells * stack.grid.cell_area_m2, np.float64)
    table = _named(wet_area_m2, deep, fast)
    for name, share in shares.items():
        table[f"{name}_share"] = swim_mean(share[is_wet], wet, count)
    dry = ~is_wet & ~np.isnan(at(stack.layer("bed")))
    for name, species in task.species.items():
        parts = factors(species, depth_m=depth_m, speed_m_s=speed_m_s, shares=shares)
        used = {part: parts[part] for part in FACTORS if part in task.factors}
        scores = np.where(dry, 0.0, combine(used, rule=task.rule))
        mean = swim_mean(scores, cells, count)
        table[f"score_{name}"] = np.where(wet_cells > 0, mean, np.nan)
    return pd.DataFrame(table, index=swims.index)


def _named(
    wet_area_m2: Floats, deep: Iterable[Floats], fast: Iterable[Floats]
) -> dict[str, Floats]:
    names = [f"depth{part}_m" for part in ("", "_sd", "_p50")]
    names += [f"speed{part}_m_s" for part in ("", "_sd", "_p50")]
    return {"wet_area_m2": wet_area_m2} | dict(zip(names, [*deep, *fast], strict=True))


def _layer(stack: Stack, name: str, level_m: float) -> Layer:
    """Return a layer, all ``NaN`` if the stack has none of that name."""
    try:
        return stack.layer(name, level_m=level_m)
    except LevelMissing:
        raise
    except ValueError:
        nothing = np.full(stack.grid.shape, np.nan, np.float32)
        nothing.setflags(write=False)
        return nothing


def curve_tables(
    task: Task, classes: list[str]
) -> tuple[tuple[Floats, ...], tuple[Floats, ...], Floats]:
    """Return all species' curves and classes as ``pegscore.fused`` reads them."""
    kinds = list(task.species.values())
    paces = [k.speed_m_s if "speed" in task.factors else ANY for k in kinds]
    suits = [[kind.substrate[name] for kind in kinds] for name in classes]
    return (
        _laid_out([kind.depth_m for kind in kinds]),
        _laid_out(paces),
        np.array(suits, np.float64).reshape(len(classes), len(kinds)),
    )


def _laid_out(curves: list[Curve]) -> tuple[Floats, ...]:
    """Lay curves on common knots: where each piece begins, a guide, heights, slopes.

    Piece 0 lies before the first knot and begins there too, without a slope.
    """
    knots = np.unique([point.x for curve in curves for point in curve.points])
    height = np.column_stack([curve(knots) for curve in curves])
    flat = np.zeros((1, len(curves)))
    slope = np.diff(height, axis=0) / np.diff(knots)[:, None]
    posts = np.linspace(knots[0], knots[-1], GUIDE_POSTS)
    return (
        np.concatenate([knots[:1], knots]),
        np.searchsorted(knots, posts, side="right").astype(np.int64),
        np.ascontiguousarray(np.concatenate([height[:1], height])),
        np.ascontiguousarray(np.concatenate([flat, slope, flat])),
    )
