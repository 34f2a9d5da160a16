"""What an audience may see of a run: the one gate every export passes.

Members never get spawning places, private notes or returns. The committee gets the
first two; of returns both get only what many visits and anglers stand behind
(``pegscore.catches``), and members not even that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

import pandas as pd

from layers.stack import SAME_LEVEL_M
from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.exports.positions import accuracy_note, degrees, grid_reference
from pegscore.flag_words import flags_of
from pegscore.mapping import without_returns
from pegscore.pages.places import shown_places, words_of
from pegscore.seasons import season_text
from pegscore.survey_days import survey_date
from pegscore.wording import GUIDE, one_line

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import geopandas as gpd
    from pyproj import CRS
    from shapely import LineString
    from shapely.geometry.base import BaseGeometry

    from layers.stack import Stack
    from pegscore.workflow import Run

Audience = Literal["members", "committee"]

BEST = 3
"""So many species are named as a peg's best."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """Everything an export may write; nothing else reaches a file.

    Parameters
    ----------
    audience : {'members', 'committee'}
    river : str
        The stretch's name, on one line.
    crs : CRS
        The survey's system, in which ``pegs``, ``places`` and ``water`` lie.
    level_m : float
        The level of the pegs' own figures, metres on the board.
    surveyed : str
        The day of the last sounding, or that it is unknown.
    seasons : tuple of str
        When the river's species may not be fished for.
    accuracy : str
        How well WGS 84 positions are known, in words.
    pegs : GeoDataFrame, index peg
        ``bank``, ``chainage_m``, ``longitude``, ``latitude``, ``grid_reference``,
        ``depth_m``, ``speed_m_s``, ``best``, ``cautions``, ``closed``,
        ``step_free``, ``walk_m``, ``swim`` and, for the committee, ``note``.
    scores : DataFrame
        One row a species, level and peg.
    places : GeoDataFrame or None
    returns : DataFrame or None
        For the committee: catch per hour of each peg that enough visits stand behind.
    """

    audience: Audience
    river: str
    crs: CRS
    level_m: float
    surveyed: str
    accuracy: str
    seasons: tuple[str, ...]
    pegs: gpd.GeoDataFrame
    scores: pd.DataFrame
    titles: dict[str, str]
    places: gpd.GeoDataFrame | None
    water: BaseGeometry
    centreline: LineString
    width_m: float
    stack: Stack
    returns: pd.DataFrame | None

    def peg(self, name: str) -> pd.Series:
        """Return one peg's row."""
        return cast("pd.Series", self.pegs.loc[name])

    def rows(self) -> Iterator[tuple[str, pd.Series]]:
        """Go through the pegs by name, in the order of the club's file."""
        for name in self.pegs.index:
            yield str(name), self.peg(name)

    def told_places(self) -> Iterator[tuple[str, BaseGeometry]]:
        """Go through the places this audience may see: their words and shape."""
        if self.places is None:
            return
        names = self.places.get("name", pd.Series("", index=self.places.index))
        for kind, name, shape in zip(
            self.places["kind"], names, self.places.geometry, strict=True
        ):
            words, _ = words_of(str(kind))
            yield " ".join(filter(None, [words, one_line(name)])), shape

    @property
    def about(self) -> tuple[str, ...]:
        """Return what has to travel with every file, a sentence an item."""
        return (
            GUIDE,
            f"Surveyed {self.surveyed}; figures for {self.level_m:.2f} m on the board.",
            *(text for text in GENERAL_CAUTIONS if text != GUIDE),
            *self.seasons,
            self.accuracy,
        )


def edition_of(run: Run, ranking: gpd.GeoDataFrame, audience: Audience) -> Edition:
    """Return what ``audience`` may see of a run and its ranking."""
    level_m = run.survey.river.gauge.level_m
    scores = pd.DataFrame(without_returns(ranking).drop(columns="geometry"))
    places = shown_places(run.survey.places, edition=audience)
    return Edition(
        audience=audience,
        river=one_line(run.survey.river.name),
        crs=run.survey.river.crs,
        level_m=level_m,
        surveyed=survey_date(run.survey),
        accuracy=accuracy_note(run.survey.river.crs),
        seasons=_seasons(run),
        pegs=_pegs(run, scores, audience, level_m),
        scores=scores,
        titles={key: kind.title for key, kind in run.species.items()},
        places=places,
        water=run.survey.water,
        centreline=run.survey.centreline,
        width_m=_usual_width_m(run),
        stack=run.stack,
        returns=_returns(run) if audience == "committee" else None,
    )


def _pegs(
    run: Run, scores: pd.DataFrame, audience: Audience, level_m: float
) -> gpd.GeoDataFrame:
    """Return the pegs with what may be told of each."""
    kept = ["bank", "chainage_m", "step_free", "walk_m", "swim", "geometry"]
    pegs = run.pegs[kept].copy()
    pegs["longitude"], pegs["latitude"] = degrees(pegs.geometry).T
    pegs["grid_reference"] = [
        grid_reference(east, north, run.survey.river.crs)
        for east, north in zip(run.pegs["easting"], run.pegs["northing"], strict=True)
    ]
    here = scores[(scores["level_m"] - level_m).abs() < SAME_LEVEL_M]
    water = here.drop_duplicates("peg").set_index("peg")
    for name in ("depth_m", "speed_m_s"):
        pegs[name] = water[name].reindex(pegs.index) if name in water else float("nan")
    pegs["best"] = [_best(here[here["peg"] == peg], run) for peg in pegs.index]
    pegs["closed"] = [_told(run, peg, audience, blocks=True) for peg in pegs.index]
    pegs["cautions"] = [_told(run, peg, audience, blocks=False) for peg in pegs.index]
    shut = pegs.index[run.pegs["open"].eq(False)]  # noqa: FBT003 - a column's value
    pegs.loc[shut, "closed"] = "closed by the club"
    if audience == "committee":
        pegs["note"] = run.pegs["note"].map(one_line)
    return pegs


def _best(rows: pd.DataFrame, run: Run) -> str:
    """Name the species that score best at a peg, with scores and their flags."""
    top = rows.dropna(subset="score").nlargest(BEST, "score")
    told = []
    for row in top.to_dict("records"):
        worth = f"{row['low']:.2f} to {row['high']:.2f}"
        tags = [worth, *(flag.tag for flag in flags_of(row))]
        title = run.species[row["species"]].title
        told.append(f"{title} {row['score']:.2f} ({'; '.join(tags)})")
    return ", ".join(told)


def _told(run: Run, peg: str, audience: Audience, *, blocks: bool) -> str:
    """Return a peg's cautions on one line, those that bar it or the others."""
    wanted: Sequence[str] = [
        one_line(caution.text)
        for caution in run.cautions.get(str(peg), ())
        if caution.blocks == blocks and (caution.members or audience == "committee")
    ]
    return "; ".join(wanted)


def _returns(run: Run) -> pd.DataFrame | None:
    """Return each species' catch per hour by peg, where enough people stand behind."""
    if run.survey.returns is None:
        return None
    from pegscore.catches import catch_rates  # noqa: PLC0415 - loads scipy.stats
    from pegscore.run_visits import run_visits  # noqa: PLC0415

    visits = run_visits(run)
    tables = [
        catch_rates(visits, name).dropna(subset="per_hour").assign(species=name)
        for name in run.species
    ]
    joined = pd.concat(tables).rename_axis("peg").reset_index()
    return joined[joined["caught"] > 0].drop(columns=["anglers", "largest_share"])


def _seasons(run: Run) -> tuple[str, ...]:
    """Return each closed season once, with the species it holds for."""
    season, told = run.survey.river.season, dict[str, list[str]]()
    for kind in run.species.values():
        told.setdefault(season_text(kind, season), []).append(kind.title)
    return tuple(
        f"{text} ({', '.join(titles)})" if len(told) > 1 else text
        for text, titles in told.items()
        if text
    )


def _usual_width_m(run: Run) -> float:
    """Return the water's usual width: its area over its length."""
    return float(run.survey.water.area / max(run.channel.length_m, 1.0))
