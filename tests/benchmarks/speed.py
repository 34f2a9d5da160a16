"""How fast swims are swept, against public libraries on the same river.

Run by hand: ``python tests/benchmarks/speed.py [PART ...] [--millions]``, a part being
one of statistics, scaling, streaming, memory, workers; all if none is named. Contenders
take turns, medians of the rounds are shown, and times are processor time of one core
(``OMP_NUM_THREADS=1``) unless the table says otherwise: ratios are what to look at.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
import shapely
from synthetic import CLASSES, blocks_of, grid_of, swims_of, water, write_river

from layers.blocks import Window
from layers.raster import TiledRaster
from layers.stack import Stack
from layers.tiles import TileWalk
from pegscore.coverage import gather_runs
from pegscore.selection import band_summaries, class_shares
from pegscore.species import read_species
from pegscore.sweep import FACTORS, Task, sweep

ROUNDS = 5
MEDIAN = np.array([0.5])


def ours(grid, bands, swims, weighting="centre"):
    """Mean, spread and median of depth and speed, and the shares of the classes."""
    runs = tuple(gather_runs(grid, swims, weighting=weighting, engine="compiled"))
    depth, speed, kind = (band.ravel() for band in bands)
    return np.column_stack(
        [
            band_summaries(depth, depth, runs, MEDIAN)[:, 1:],
            band_summaries(speed, depth, runs, MEDIAN)[:, 1:],
            class_shares(kind, CLASSES, runs),
        ]
    )


def typed(bands):
    """Return depth and speed, and the classes as whole numbers, -1 on land."""
    kind = np.where(np.isnan(bands[2]), -1, bands[2]).astype(np.int8)
    return [bands[0], bands[1], kind]


def show(title: str, rows: list[dict[str, object]]) -> None:
    print(f"\n{title}\n{pd.DataFrame(rows).to_string(index=False)}", flush=True)


def cpu(work):
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def statistics_part() -> None:
    """Twenty kilometres in memory; the slow contenders are asked for a part of it."""
    from contenders import (  # noqa: PLC0415 - not for the process that is weighed
        loop,
        theirs_exact,
        theirs_stats,
    )

    count = 20_000
    grid, swims = grid_of(count), swims_of(0, count)
    bands = typed(water(grid))
    few = {"exactextract": 600, "rasterstats": 200, "shapely and numpy": 400}
    work = {
        "pegscore, centres": (lambda: ours(grid, bands, swims), count),
        "pegscore, covered": (lambda: ours(grid, bands, swims, "coverage"), count),
    }
    for name, ask in zip(few, (theirs_exact, theirs_stats, loop), strict=True):
        own = swims.iloc[:: count // few[name]].iloc[: few[name]]
        work[name] = (lambda ask=ask, own=own: ask(grid, bands, own), few[name])
    first_s = [cpu(work[name][0])[0] for name in list(work)[:2]]
    taken: dict[str, list[float]] = {name: [] for name in work}
    found = {}
    for _ in range(ROUNDS):
        for name, (ask, asked) in work.items():
            seconds, found[name] = cpu(ask)
            taken[name].append(seconds / asked)
    _same(found, count, few)
    cost = {name: statistics.median(each) for name, each in taken.items()}
    rows = [
        {
            "who": name,
            "us a swim": round(each * 1e6, 1),
            "swims/s": round(1 / each),
            "of centres": f"{each / cost['pegscore, centres']:.0f} x",
            "of covered": f"{each / cost['pegscore, covered']:.0f} x",
        }
        for name, each in cost.items()
    ]
    cells = ours_cells(grid, swims)
    show(f"mean, spread, median, classes; 3 bands, {cells:.0f} cells a swim", rows)
    print(
        f"first calls, loading kept machine code: {first_s[0]:.1f}, {first_s[1]:.1f} s"
    )
    _bandwidth(cells, cost["pegscore, centres"])


def ours_cells(grid, swims) -> float:
    runs = gather_runs(grid, swims, weighting="centre", engine="compiled")
    return runs.length.sum() / len(swims)


def _same(found, count, few) -> None:
    """Stop if the contenders do not agree.

    exactextract keeps shares in float32; that moves a median between two cells by up
    to a hundred-thousandth, and means and class shares by less than a millionth.
    """
    for name, mine, least in (
        ("exactextract", "pegscore, covered", 1e-5),
        ("rasterstats", "pegscore, centres", 1e-6),
        ("shapely and numpy", "pegscore, centres", 1e-9),
    ):
        own = found[mine][:: count // few[name]][: few[name]]
        np.testing.assert_allclose(own, found[name], rtol=least, atol=least)


def _bandwidth(cells: float, cost_s: float) -> None:
    """Compare the bytes a swim's cells take with what a copy moves."""
    block = np.ones(2**25, np.float32)
    target = np.empty_like(block)
    moved = statistics.median(
        2 * block.nbytes / cpu(lambda: np.copyto(target, block))[0] for _ in range(5)
    )
    touched = cells * (4 + 4 + 4 + 4 + 1) + 35 * 16
    print(
        f"bytes touched {touched / cost_s / 1e9:.2f} GB/s of {moved / 1e9:.1f} GB/s "
        "that a copy moves: the sums, not the memory, set the pace"
    )


def scaling_part(*, millions: bool) -> None:
    """Swims of a river made block by block; making it is not counted."""
    rows = []
    counts = [2_000, 20_000, 200_000] + [2_000_000] * millions
    rounds = {2_000: 9, 20_000: ROUNDS, 200_000: 1, 2_000_000: 1}
    _swept(2_000)  # kept machine code is loaded
    for count in counts:
        taken = statistics.median(_swept(count) for _ in range(rounds[count]))
        rows.append({"swims": f"{count:,}", "us a swim": round(taken / count * 1e6, 1)})
    show("cost as the river grows (in memory, by blocks of 250 m)", rows)


def _swept(count: int) -> float:
    grid = grid_of(count)
    spent = 0.0
    for block in blocks_of(grid, count):
        first, last = int(block.start_m), min(int(block.end_m), count)
        swims, part = swims_of(first, last), block.window.of(grid)
        bands = typed(water(part))
        spent += cpu(lambda p=part, b=bands, s=swims: ours(p, b, s))[0]
    return spent


def streaming_part() -> None:
    """From a compressed file to statistics, and to all species' scores."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "river.tif"
        for count in (20_000, 200_000):
            grid = write_river(path, count)
            rows += [_streamed(path, grid, count) for _ in range(ROUNDS)][-1:]
    show("end to end from a deflated GeoTIFF, 3 bands, centres; us a swim", rows)


def _streamed(path: Path, grid, count: int) -> dict[str, object]:
    read_s, _ = cpu(path.read_bytes)
    blocks = blocks_of(grid, count)
    spent, walked, decoded = 0.0, 0.0, 0
    with TiledRaster(path) as raster:
        walk = TileWalk(raster, [block.window for block in blocks])
        windows = iter(walk)
        for block in blocks:
            seconds, bands = cpu(lambda: next(windows))
            walked += seconds
            swims = swims_of(int(block.start_m), min(int(block.end_m), count))
            part = block.window.of(grid)
            spent += cpu(lambda p=part, b=bands, s=swims: ours(p, typed(b), s))[0]
        decoded = walk.decoded
    micro = 1e6 / count
    return {
        "swims": f"{count:,}",
        "file MB": round(path.stat().st_size / 1e6, 1),
        "read": round(read_s * micro, 2),
        "decode": round((walked - read_s) * micro, 1),
        "compute": round(spent * micro, 1),
        "swims/s": round(count / (walked + spent)),
        "tiles": decoded,
        "most held": walk.most_held,
    }


def memory_part() -> None:
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for kilometres in (20, 200):
            path = Path(folder) / "river.tif"
            write_river(path, kilometres * 1000)
            done = subprocess.run(
                [sys.executable, __file__, "--child", str(path), str(kilometres)],
                capture_output=True, text=True, check=True,
            )  # fmt: skip
            base, peak, cost = done.stdout.split()
            rows.append(
                {"km": kilometres, "MB loaded": base, "MB at most": peak}
                | {"us a swim": cost}
            )
    show("memory of a new process, all species' scores of a swim a metre", rows)


def child(path: Path, kilometres: int) -> None:
    """Sweep a river from its file and print the memory it took."""
    count = kilometres * 1000
    grid = grid_of(count)
    loaded = peak_mb()
    blocks = blocks_of(grid, count)
    task = Task(0.6, read_species(), FACTORS, "coverage")
    start = time.process_time()
    with TiledRaster(path) as raster:
        walk = TileWalk(raster, [block.window for block in blocks])
        for block, bands in zip(blocks, walk, strict=True):
            swims = swims_of(int(block.start_m), min(int(block.end_m), count))
            stack = stack_of(block.window, grid, bands)
            sweep(stack, swims, task, engine="compiled")
    spent = (time.process_time() - start) / count * 1e6
    print(f"{loaded:.0f} {peak_mb():.0f} {spent:.1f}")


def peak_mb() -> float:
    """Return the most memory this process has held.

    The system's own ``ru_maxrss`` would count what the parent held when it made us.
    """
    status = Path("/proc/self/status")
    if not status.exists():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    lines = dict(line.split(":", 1) for line in status.read_text().splitlines())
    return float(lines["VmHWM"].split()[0]) / 1024


def stack_of(window: Window, grid, bands) -> Stack:
    shares = {
        name: np.where(np.isnan(bands[2]), np.nan, bands[2] == number).astype("f4")
        for number, name in enumerate(("silt", "sand", "gravel", "cobble", "boulder"))
    }
    return Stack(
        grid=window.of(grid),
        fixed={"bed": 10 - bands[0], **shares},
        by_level={0.6: {"depth": bands[0], "speed": bands[1]}},
    )


def main(words: list[str]) -> None:
    if words[:1] == ["--child"]:
        child(Path(words[1]), int(words[2]))
        return
    from workers import workers_part  # noqa: PLC0415 - starts processes

    parts = {
        "statistics": statistics_part,
        "scaling": lambda: scaling_part(millions="--millions" in words),
        "streaming": streaming_part,
        "memory": memory_part,
        "workers": lambda: workers_part(show),
    }
    named = [word for word in words if word in parts]
    for name in named or parts:
        parts[name]()


if __name__ == "__main__":
    shapely.prepare(shapely.box(0, 0, 1, 1))  # the library's own start
    main(sys.argv[1:])
