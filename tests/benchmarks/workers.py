"""One dask worker against two on copies of the demo river.

The clock tells the truth only where two processors are free; the processor time of the
busiest worker tells what the clock would say if they were.
"""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from pathlib import Path

from pegscore.fleet.cluster import connected, run_on_cluster
from pegscore.fleet.plan import Wishes, plan_river

DEMO = Path(__file__).parents[2] / "demo_river"
RIVERS, ROUNDS = 4, 2


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
    cost = {
        name: [statistics.median(column) for column in zip(*each[1:], strict=True)]
        for name, each in taken.items()
    }
    rows = [
        {
            "workers": name,
            "clock s": round(clock, 1),
            "gain by clock": round(cost["1"][0] / clock, 2),
            "busiest worker s": round(busiest, 1),
            "gain by processor": round(cost["1"][1] / busiest, 2),
        }
        for name, (clock, busiest) in cost.items()
    ]
    show(f"dask workers on {RIVERS} rivers, a place a metre", rows)


def _turns(rivers, wishes, clients) -> dict[str, list[tuple[float, float]]]:
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in clients}
    for turn in range(ROUNDS + 1):  # the first loads libraries and machine code
        for name, client in clients.items():
            with tempfile.TemporaryDirectory() as out:
                before, start = client.run(time.process_time), time.perf_counter()
                outcome = run_on_cluster(rivers, Path(out), wishes, client=client)
                clock, after = (
                    time.perf_counter() - start,
                    client.run(time.process_time),
                )
                busiest = max(after[worker] - before[worker] for worker in after)
                taken[name].append((clock, busiest))
                if outcome.refused or outcome.missing:
                    raise SystemExit(str(outcome.refused))
            print(f"turn {turn}, {name}: {clock:.1f} s, {busiest:.1f} s", flush=True)
    return taken
