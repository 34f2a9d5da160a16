"""The feeding zone: the stretch of the run line where the feed meets the bottom."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pegscore.drift import throw_m

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pegscore.baits import Settling
    from pegscore.drift import Stream
    from pegscore.landing import Landing
    from pegscore.run_line import RunLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """One bait on its way: how it sinks, where it is thrown and where it lands.

    Parameters
    ----------
    name, title : str
    settling : Settling
        m/s, with its range and what it rests on.
    thrown_m : float
        Metres down the run line; ``NaN`` where no throw reaches the wanted spot.
    landing : Landing
        Metres down the run line.
    """

    name: str
    title: str
    settling: Settling
    thrown_m: float
    landing: Landing


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedingZone:
    """Where the feed meets the bottom, metres down the run line.

    Parameters
    ----------
    from_m, to_m : float
        From the first place any of the baits may land to the last (80 % ranges).
    shared_from_m, shared_to_m : float
        Where all of them may; ``NaN`` if they part company.
    pass_s, shared_pass_s : float
        Seconds that a float let go takes to pass each; ``NaN`` if not known.
    baits : int
        How many baits it is made of.
    """

    from_m: float
    to_m: float
    shared_from_m: float
    shared_to_m: float
    pass_s: float
    shared_pass_s: float
    baits: int

    @property
    def is_shared(self) -> bool:
        """True where there is a stretch on which every bait may land."""
        return not math.isnan(self.shared_from_m)


def feeding_zone(line: RunLine, feeds: Sequence[Feed]) -> FeedingZone | None:
    """Return the feeding zone of all baits that sink and whose landing is known.

    Returns
    -------
    FeedingZone or None
        None if no bait has a known landing.
    """
    spans = [
        (feed.landing.from_m, feed.landing.to_m)
        for feed in feeds
        if math.isfinite(feed.landing.from_m) and math.isfinite(feed.landing.to_m)
    ]
    if not spans:
        return None
    starts, ends = zip(*spans, strict=True)
    shared = (max(starts), min(ends))
    if shared[0] > shared[1]:
        shared = (math.nan, math.nan)
    return FeedingZone(
        from_m=min(starts),
        to_m=max(ends),
        shared_from_m=shared[0],
        shared_to_m=shared[1],
        pass_s=line.pass_s(min(starts), max(ends)),
        shared_pass_s=math.nan if math.isnan(shared[0]) else line.pass_s(*shared),
        baits=len(spans),
    )


def throw_for(stream: Stream, settling: Settling, *, land_at_m: float) -> float:
    """Return where to throw a bait so that it lands at a spot, metres down the line.

    ``NaN`` where it floats, or would have to be thrown above the line's upper end.
    """
    return float(throw_m(stream, land_at_m, settling.usual_m_s))
