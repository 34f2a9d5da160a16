"""Make the fictional demo river's survey folder, the same bytes every time.

Run ``python demo_river/make_river.py [--seed N] [--out DIR]``. Everything is
invented: no shape, depth, speed, peg or catch comes from a real water. The truth
is in ``river_truth``, what a club measured of it in the ``club_`` modules; none
of them knows of the toolkit.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from pyproj import Transformer
from shapely import LineString

sys.path.insert(0, str(Path(__file__).parent))  # the parts lie beside this script

from club_bank import LEFT, all_places, beside, numbered_pegs
from club_returns import all_returns
from club_survey import (
    all_soundings,
    all_speeds,
    bottom_grabs,
    gaugings,
    take_soundings,
)
from river_truth import SEED, Truth, make_truth, sample_truth

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    import pandas as pd
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    Array = NDArray[np.float64]

__all__ = ["Truth", "make_truth", "sample_truth", "take_soundings", "write_survey"]

RIVER_TOML = """\
# River Tamberlode at Fennick Ings: invented for demonstration; no real water.
[river]
name = "River Tamberlode, Fennick Ings (invented)"
crs = "{crs}"

[gauge]
level_m = {level_m:.2f}
zero_m = {zero_m:.2f}
x = {x:.2f}
y = {y:.2f}
slope = {slope}

[season]
closed = ["03-15", "06-15"]
note = "Invented club rule for the demonstration; check the byelaws where you fish."
"""
# The British grid to WGS 84 by seven parameters, spelled out so that no machine's
# extra grid files change the survey's bytes.
TO_WGS84 = (
    "+proj=pipeline +step +inv +proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 "
    "+x_0=400000 +y_0=-100000 +ellps=airy +step +proj=push +v_3 +step +proj=cart "
    "+ellps=airy +step +proj=helmert +x=446.448 +y=-125.157 +z=542.06 +rx=0.15 "
    "+ry=0.247 +rz=0.842 +s=-20.489 +convention=position_vector +step +inv "
    "+proj=cart +ellps=WGS84 +step +proj=pop +v_3 "
    "+step +proj=unitconvert +xy_in=rad +xy_out=deg"
)


def write_survey(folder: Path, seed: int = SEED) -> None:
    """Write all files of the survey into ``folder``."""
    truth = make_truth(seed)
    folder.mkdir(parents=True, exist_ok=True)
    draws = np.random.default_rng([seed, 2]).spawn(6)
    pegs = numbered_pegs(truth, draws[0])
    tables = {
        "soundings": all_soundings(truth, draws[1]),
        "bed": bottom_grabs(truth, draws[2]),
        "speeds": all_speeds(truth, draws[3]),
        "flows": gaugings(truth, draws[4]),
        "pegs": pegs,
        "returns": all_returns(truth, draws[5], pegs),
    }
    for stem, table in tables.items():
        _write_table(table, folder / f"{stem}.csv")
    _write(folder / "river.toml", _river_toml(truth))
    _write(folder / "channel.geojson", _geojson(_channel(truth)))
    _write(folder / "places.geojson", _geojson(all_places(truth)))


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def _write_table(table: pd.DataFrame, path: Path) -> None:
    _write(path, table.to_csv(index=False, lineterminator="\n"))


def _river_toml(truth: Truth) -> str:
    x, y = beside(truth, truth.gauge_chainage_m, LEFT, -0.5)
    return RIVER_TOML.format(
        crs=truth.crs,
        level_m=truth.level_m,
        zero_m=truth.zero_m,
        x=x,
        y=y,
        slope=truth.slope,
    )


def _channel(truth: Truth) -> list[tuple[dict[str, str], BaseGeometry]]:
    """Return the axis with a corner each 10 m, as drawn by hand, and the water."""
    corners = np.array(truth.centreline.coords)[::5]
    drawn = LineString(np.vstack([corners[:-1], truth.centreline.coords[-1]]))
    return [({"part": "centreline"}, drawn), ({"part": "water"}, truth.water)]


def _geojson(features: Iterable[tuple[dict[str, str], BaseGeometry]]) -> str:
    """Return an RFC 7946 collection: degrees to a centimetre, shells turned left."""
    to_degrees = Transformer.from_pipeline(TO_WGS84)

    def feature(properties: dict[str, str], shape: BaseGeometry) -> str:
        turned = shapely.orient_polygons(shape)
        degrees = shapely.transform(turned, _in_degrees(to_degrees))
        geometry = json.loads(shapely.to_geojson(degrees))
        whole = {"type": "Feature", "properties": properties, "geometry": geometry}
        return json.dumps(whole, ensure_ascii=False)

    lines = ",\n".join(feature(*one) for one in features)
    return f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'


def _in_degrees(to_degrees: Transformer) -> Callable[[Array], Array]:
    def change(places: Array) -> Array:
        return np.column_stack(to_degrees.transform(places[:, 0], places[:, 1])).round(
            7
        )

    return change


def main() -> None:
    """Read the options and write the survey."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    options = parser.parse_args()
    write_survey(options.out, options.seed)
    print(f"the survey of the fictional river is in {options.out}")


if __name__ == "__main__":
    main()
