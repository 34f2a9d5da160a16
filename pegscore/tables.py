"""The ranking as files: a CSV that spreadsheets open and a GeoPackage."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pandas as pd

from layers.raster import replacing
from layers.staging import staged

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd

DECIMALS = 4
"""Places kept in a CSV: a tenth of a millimetre, far below any error."""

_STARTS_A_FORMULA = re.compile(r"^[=+\-@\t\r]")


def write_ranking(ranking: gpd.GeoDataFrame, out: Path) -> tuple[Path, Path]:
    """Write ``ranking.csv`` and ``ranking.gpkg`` (layer ``pegs``) into ``out``.

    Both are replaced together when both successors are complete. Text that a
    spreadsheet would take for a formula gets an apostrophe in front.
    """
    with staged(out) as folder:
        write_csv(ranking, folder / "ranking.csv")
        write_geopackage(ranking, folder / "ranking.gpkg")
    return out / "ranking.csv", out / "ranking.gpkg"


def write_csv(ranking: gpd.GeoDataFrame, path: Path) -> Path:
    """Write a ranking without its geometry as UTF-8 CSV."""
    table = pd.DataFrame(ranking.drop(columns=ranking.geometry.name))
    return write_table(table.round(DECIMALS), path)


def write_table(table: pd.DataFrame, path: Path, *, encoding: str = "utf-8") -> Path:
    """Write a table as CSV that no spreadsheet can run, complete or not at all."""
    with replacing(path) as temporary:
        safe_for_spreadsheets(table).to_csv(
            temporary, index=False, lineterminator="\n", encoding=encoding
        )
    return path


def write_geopackage(ranking: gpd.GeoDataFrame, path: Path) -> Path:
    """Write a ranking as the layer ``pegs`` of a GeoPackage."""
    with replacing(path) as temporary:
        temporary.unlink()
        ranking.to_file(temporary, layer="pegs", driver="GPKG", engine="pyogrio")
    return path


def safe_for_spreadsheets(table: pd.DataFrame) -> pd.DataFrame:
    """Return the table with no text that a spreadsheet could run.

    Examples
    --------
    >>> import pandas as pd
    >>> safe_for_spreadsheets(pd.DataFrame({"peg": ["=1+1", "12"], "n": [-1, 2]}))
         peg  n
    0  '=1+1 -1
    1     12  2
    """
    table = table.copy()
    for name in table.select_dtypes(include=["object", "string"]):
        table[name] = table[name].map(_defused)
    return table


def _defused(value: object) -> object:
    if isinstance(value, str) and _STARTS_A_FORMULA.match(value):
        return f"'{value}"
    return value
