"""The sentences that exports share, from one peg's row of an edition."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore.units import is_unknown, length, pace
from pegscore.wording import NO_PROOF

if TYPE_CHECKING:
    import pandas as pd

    from pegscore.exports.edition import Edition


def peg_words(peg: pd.Series) -> str:
    """Say where a peg is and what water lies before it, in metres and feet.

    Examples
    --------
    >>> import pandas as pd
    >>> peg = pd.Series({"bank": "left", "depth_m": 1.524, "speed_m_s": 0.5,
    ...                  "grid_reference": "TG 51409 13177", "best": "Chub 0.70",
    ...                  "step_free": True, "walk_m": 120.0, "closed": ""})
    >>> peg_words(peg)  # doctest: +NORMALIZE_WHITESPACE
    'left bank; depth 1.52 m (5.0 ft); pace 0.50 m/s; TG 51409 13177; step-free;
     120 m walk; best for Chub 0.70'
    """
    parts = [f"{peg['bank']} bank"]
    if peg["closed"]:
        parts = [f"DO NOT FISH: {peg['closed']}", *parts]
    depth_m, speed_m_s = peg["depth_m"], peg["speed_m_s"]
    deep = length(depth_m)
    if not is_unknown(depth_m):
        deep += f" ({length(depth_m, 'imperial')})"
    parts += [f"depth {deep}", f"pace {pace(speed_m_s)}", peg["grid_reference"]]
    if peg["step_free"] is True:
        parts.append("step-free")
    if not is_unknown(peg["walk_m"]):
        parts.append(f"{peg['walk_m']:.0f} m walk")
    if peg["best"] and not peg["closed"]:
        parts.append(f"best for {peg['best']}")
    return "; ".join(parts)


def warning_words(peg: pd.Series, edition: Edition) -> str:
    """Say what to watch at a peg, and that this is a guide, not a promise."""
    said = [peg["cautions"]] if peg["cautions"] else []
    if peg.get("note"):
        said.append(f"committee's note: {peg['note']}")
    said.append(NO_PROOF)
    return " ".join(f"{text.rstrip('.')}." for text in (*said, *edition.about[:2]))
