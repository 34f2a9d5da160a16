"""One dask worker against two on copies of the demo river, by the clock."""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from pathlib import Path

from pegscore.fleet.cluster import connected, run_on_cluster
from pegscore.fleet.plan import Wishes, plan_river

DEMO = Path(__file__).parents[2] / "demo_river"
RIVERS, ROUNDS = 4, 3


def workers_part(show) -> None:
    wishes = Wishes(step_m=1.0, block_m=250.0, cell_m=2.0, engine="compiled")
    with tempfile.TemporaryDirectory() as folder:
        rivers = [Path(folder) / f"river-{number}" for number in range(RIVERS)]
        shutil.copytree(DEMO, rivers[0], ignore=shutil.ignore_patterns("out"))
        plan_river(rivers[0], Path(folder), wishes)  # builds the layers once
        for other in rivers[1:]:
            shutil.copytree(rivers[0], other)
        with connected(None, 1) as one, connected(None, 2) as two:
            taken = _turns(rivers, wishes, {"1": one, "2": two})
    cost = {name: statistics.median(each[1:]) for name, each in taken.items()}
    rows = [
        {"workers": name, "seconds": round(each, 2), "gain": round(cost["1"] / each, 2)}
        for name, each in cost.items()
    ]
    show(f"dask workers on {RIVERS} rivers, a place a metre; wall clock", rows)


def _turns(rivers, wishes, clients) -> dict[str, list[float]]:
    taken: dict[str, list[float]] = {name: [] for name in clients}
    for turn in range(ROUNDS + 1):
        for name, client in clients.items():
            with tempfile.TemporaryDirectory() as out:
                start = time.perf_counter()
                outcome = run_on_cluster(rivers, Path(out), wishes, client=client)
                taken[name].append(time.perf_counter() - start)
                if outcome.refused or outcome.missing:
                    raise SystemExit(str(outcome.refused))
            print(f"turn {turn}, {name}: {taken[name][-1]:.1f} s", flush=True)
    return taken
