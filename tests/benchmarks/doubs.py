"""Every rule on the Doubs, six stretches left out in turn: ``doubs.py``.

Prints each measure, mean over nine species, with its block-jackknife error, and the
gain over the preferences in tau-b with the error of that.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd

sys.path.append(str(Path(__file__).parents[1]))
import doubs_river as river


def main() -> None:
    labels = river.blocks(river.sites())
    scores = {n: river.left_out_scores(rule, labels) for n, rule in river.RULES.items()}
    rows = {}
    for name, found in scores.items():
        row = {}
        for measure in river.MEASURES:
            row[measure], row[f"{measure}_se"] = river.jackknifed(
                lambda keep, f=found, m=measure: river.measured(f, m, keep)
            )
        row["gain"], row["gain_se"] = river.jackknifed(
            lambda keep, f=found: (
                river.measured(f, "tau_b", keep)
                - river.measured(scores["preferences"], "tau_b", keep)
            )
        )
        rows[name] = row
    print(pd.DataFrame(rows).T.round(3).to_string())


if __name__ == "__main__":
    main()
