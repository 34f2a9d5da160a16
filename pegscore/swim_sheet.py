"""The swim sheet's own shape: what an angler may choose, and what the sheet holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pegscore.cautions import GENERAL_CAUTIONS
from pegscore.errors import PegError

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from pegscore.depth_to_set import DepthToSet
    from pegscore.feeding_zone import Feed, FeedingZone
    from pegscore.float_guide import FloatWeight
    from pegscore.netting import NettingSpot
    from pegscore.run_line import RunLine
    from pegscore.swim_marks import Mark
    from pegscore.swim_score import SwimScore

THROWN_M = 1.0
"""Where feed is thrown if nobody chose: a metre downstream; common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwimWishes:
    """What an angler may choose; everything has a default.

    Parameters
    ----------
    species : str, optional
        Score the swim for it.
    distance_out_m : float, optional
        The run line's distance out abreast of the peg; default the method's.
    baits : sequence of str, optional
        Names of ``baits.toml``; default the usual four.
    throw_m : float, default=1.0
        Where feed is thrown, metres down the run line.
    land_at_m : float, optional
        Where it shall land instead: the throw is worked out for each bait.
    method : str, default='float'
    date : datetime.date, optional
        Checks closed days for ``species``.
    water_temp_c : float, optional
        For settling and for ``species``; 15 °C for settling where not given.

    Raises
    ------
    PegError
        If a distance is not a number.
    """

    species: str | None = None
    distance_out_m: float | None = None
    baits: Sequence[str] | None = None
    throw_m: float = THROWN_M
    land_at_m: float | None = None
    method: str = "float"
    date: dt.date | None = None
    water_temp_c: float | None = None

    def __post_init__(self) -> None:
        for name in ("throw_m", "land_at_m", "distance_out_m"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                message = f"{name} is {value}; give metres"
                raise PegError(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwimSheet:
    """One peg's swim at one level.

    Parameters
    ----------
    river, peg, bank, method, survey_date : str
        Names as the club wrote them: foreign text.
    level_m, distance_out_m, temp_c : float
        The board; the run line's distance out abreast of the peg, ``NaN`` without a
        line; the water the settling was worked out for.
    barred : str
        Why nobody may fish here; then nothing of how to fish it is told, as on a day
        with a veto for ``score``'s species.
    cautions, general_cautions, notes : tuple of str
        Hazards of this peg; those that go with every answer; what is missing or
        stretched.
    line : RunLine or None
        None where no water is in reach.
    depth_to_set, weight, zone, netting, score : or None
        None where they cannot be told.
    pass_s : float
        Seconds a float let go takes over the run in the swim; ``NaN`` unknown.
    feeds : tuple of Feed
    flows_left : bool
        True where the river flows to the left as seen from the peg.
    structure, things : tuple of Mark
        Creases and the like; snags, weed and trees.
    """

    river: str
    peg: str
    bank: str
    method: str
    level_m: float
    survey_date: str
    distance_out_m: float
    temp_c: float
    barred: str
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    general_cautions: tuple[str, ...] = GENERAL_CAUTIONS
    line: RunLine | None = None
    depth_to_set: DepthToSet | None = None
    pass_s: float = math.nan
    weight: FloatWeight | None = None
    feeds: tuple[Feed, ...] = ()
    zone: FeedingZone | None = None
    structure: tuple[Mark, ...] = ()
    things: tuple[Mark, ...] = ()
    netting: NettingSpot | None = None
    score: SwimScore | None = None
    land_at_m: float = math.nan
    flows_left: bool = False

    @property
    def is_open(self) -> bool:
        """False where the peg is barred, or the species must be left alone that day."""
        return not self.barred and not (self.score and self.score.vetoes)
