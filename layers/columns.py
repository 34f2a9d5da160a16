"""The columns of every survey table, their units and the limits of sense.

The names are those of the survey format. A column in metres has a twin in feet
(``depth_m``, ``depth_ft``); the conversions are exact by definition.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from layers.problems import nearest_name
from layers.river import SUBSTRATES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

FOOT_M = 0.3048
"""The international foot, exact (international yard and pound agreement, 1959)."""

POUND_KG = 0.45359237
"""The international pound, exact (the same agreement)."""

OUNCES_A_POUND = 16

MOST_METRES = 5e7
"""No coordinate of a projection is larger: the earth is 4e7 m round."""

PLACE_COLUMNS = ("x", "y", "lon", "lat")

SHARE_COLUMNS = tuple(f"{name}_pct" for name in SUBSTRATES)
"""Per cent columns of the bottom samples, in the order of ``SUBSTRATES``."""

IN_METRES: Mapping[str, tuple[str, ...]] = {
    "soundings": ("depth_m", "bed_m", "level_m", "sd_m"),
    "bed": (),
    "speeds": ("level_m",),
    "flows": ("level_m",),
    "pegs": ("walk_m",),
    "places": (),
    "returns": ("level_m",),
}

OTHERS: Mapping[str, tuple[str, ...]] = {
    "soundings": (*PLACE_COLUMNS, "when"),
    "bed": (*PLACE_COLUMNS, "substrate", *SHARE_COLUMNS, "weed_pct", "when", "d50_mm"),
    "speeds": (
        *PLACE_COLUMNS,
        *("x2", "y2", "lon2", "lat2", "seconds"),
        *("speed_ms", "kind", "height_frac", "when"),
    ),
    "flows": ("flow_m3s", "when"),
    "pegs": (*PLACE_COLUMNS, "peg", "bank", "open", "step_free", "note"),
    "places": (*PLACE_COLUMNS, "kind", "name", "from", "to"),
    "returns": (
        *("visit", "date", "peg", "hours", "species", "count"),
        *("angler", "method", "bait", "target", "water_c", "clarity"),
        *("weight_kg", "weight_lb", "weight_lb_oz"),
    ),
}

SAME_THING: Mapping[str, str] = {
    "easting": "x",
    "eastings": "x",
    "northing": "y",
    "northings": "y",
    "longitude": "lon",
    "long": "lon",
    "lng": "lon",
    "latitude": "lat",
    "elevation": "bed_m",
    "bottom": "substrate",
    "swim": "peg",
    "peg_no": "peg",
    "fish": "species",
    "time": "when",
}
"""Other words for a column that are too far off to be typing slips."""

TAKEN = frozenset(
    {"easting", "northing", "speed_m_s", "flow_m3_s", "by_feel", "weed_share"}
    | {"start_easting", "start_northing", "end_easting", "end_northing"}
    | {"from_day", "to_day", "geometry", *SUBSTRATES}
)
"""Columns that reading makes: a column of the club's own cannot have such a name."""

UNITS: tuple[str, ...] = ("lb_oz", "m3s", "pct", "ms", "ft", "mm", "kg", "lb", "m", "c")
OTHER_UNITS: tuple[str, ...] = (
    *("cm", "km", "in", "inch", "inches", "yd", "metres", "meters", "feet"),
    *("mph", "kmh", "kph", "knots", "fps", "fts", "cfs", "cumecs", "ls"),
    *("g", "oz", "st", "f", "frac", "share"),
)
"""Units in column names that the format does not have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What a quantity can be, and what to do about a value beyond it.

    ``above`` excludes the lower end itself.
    """

    thing: str
    low: float | None = None
    high: float | None = None
    above: bool = False
    unit: str = ""
    low_advice: str = "correct the value or leave the cell empty"
    high_advice: str = "correct the value or leave the cell empty"

    def says(self) -> str:
        """Say the limits in words.

        Examples
        --------
        >>> Limit(thing="hours", low=0, high=24, above=True, unit="h").says()
        'over 0 and up to 24 h'
        """
        parts = []
        if self.low is not None:
            parts.append(f"{'over' if self.above else 'at least'} {self.low:g}")
        if self.high is not None:
            parts.append(f"up to {self.high:g}")
        return " ".join(filter(None, (" and ".join(parts), self.unit)))


_PER_CENT = Limit(thing="per cent", low=0, high=100, unit="per cent")

LIMITS: Mapping[str, Limit] = {
    "depth_m": Limit(
        thing="depth",
        low=0,
        high=30,
        unit="m",
        low_advice="write depths as positive numbers; an elevation goes into bed_m",
        high_advice="probably another unit: use depth_ft for feet, divide "
        "centimetres by 100, and put elevations into bed_m",
    ),
    "level_m": Limit(
        thing="level",
        low=-20,
        high=30,
        unit="m",
        high_advice="give the reading of the gauge board in metres, not an elevation",
    ),
    "sd_m": Limit(thing="error", low=0, high=5, above=True, unit="m"),
    "speed_ms": Limit(
        thing="speed",
        low=0,
        high=5,
        unit="m/s",
        low_advice="write speeds as positive numbers of m/s",
        high_advice="probably another unit: divide km/h by 3.6, "
        "multiply feet a second by 0.3048",
    ),
    "height_frac": Limit(
        thing="height",
        low=0,
        high=1,
        above=True,
        unit="of the depth above the bed",
        high_advice="write the height above the bed as a share of the depth, as 0.4",
    ),
    "seconds": Limit(thing="seconds", low=0, high=7200, above=True, unit="s"),
    "flow_m3s": Limit(
        thing="flow",
        low=0,
        high=20000,
        above=True,
        unit="m³/s",
        high_advice="probably another unit: divide litres a second by 1000",
    ),
    **dict.fromkeys((*SHARE_COLUMNS, "weed_pct"), _PER_CENT),
    "d50_mm": Limit(thing="grain", low=0, high=5000, above=True, unit="mm"),
    "walk_m": Limit(thing="walk", low=0, high=20000, unit="m"),
    "hours": Limit(
        thing="hours",
        low=0,
        high=24,
        above=True,
        unit="h",
        low_advice="give the hours fished; a visit without effort is no visit",
        high_advice="probably minutes: divide by 60; split a longer visit by days",
    ),
    "count": Limit(
        thing="count",
        low=0,
        high=100000,
        unit="fish",
        low_advice="write the number of fish landed; a blank visit is count 0",
    ),
    "weight_kg": Limit(
        thing="weight",
        low=0,
        high=2000,
        unit="kg",
        high_advice="probably another unit: divide grams by 1000",
    ),
    "water_c": Limit(
        thing="water",
        low=-1,
        high=40,
        unit="°C",
        high_advice="probably Fahrenheit: subtract 32 and multiply by 5/9",
    ),
    **dict.fromkeys(
        ("x", "y", "x2", "y2"),
        Limit(
            thing="coordinate",
            low=-MOST_METRES,
            high=MOST_METRES,
            unit="m",
            low_advice="give metres in the CRS of river.toml",
            high_advice="give metres in the CRS of river.toml",
        ),
    ),
    "lon": Limit(thing="lon", low=-180, high=180, unit="degrees"),
    "lat": Limit(thing="lat", low=-90, high=90, unit="degrees"),
}


def in_feet(name: str) -> str | None:
    """Return the twin in feet of a column in metres.

    Examples
    --------
    >>> in_feet("depth_m"), in_feet("peg")
    ('depth_ft', None)
    """
    return f"{name.removesuffix('_m')}_ft" if name.endswith("_m") else None


def known_columns(stem: str) -> tuple[str, ...]:
    """Return every column that the table ``stem`` can have."""
    metres = IN_METRES[stem]
    feet = tuple(f"{name.removesuffix('_m')}_ft" for name in metres)
    return (*metres, *feet, *OTHERS[stem])


def likely_column(name: str, known: Iterable[str]) -> str | None:
    """Return the known column that ``name`` most likely means, or None.

    Examples
    --------
    >>> likely_column("Easting", known_columns("pegs"))
    'x'
    >>> likely_column("detph_m", known_columns("soundings"))
    'depth_m'
    """
    known = tuple(known)
    other = SAME_THING.get(name.strip().lower())
    return other if other in known else nearest_name(name, known)


def unit_choices(name: str, known: Iterable[str]) -> tuple[str, ...]:
    """Return the known columns that are ``name`` with a unit that is understood.

    Empty when ``name`` is not a quantity of the table with its unit missing or
    with a unit the format does not have.

    Examples
    --------
    >>> unit_choices("depth", known_columns("soundings"))
    ('depth_m', 'depth_ft')
    >>> unit_choices("depth_cm", known_columns("soundings"))
    ('depth_m', 'depth_ft')
    >>> unit_choices("notes", known_columns("pegs"))
    ()
    """
    bare = name.strip().lower()
    for unit in OTHER_UNITS:
        bare = bare.removesuffix(f"_{unit}")
    return tuple(
        column for column in known if any(column == f"{bare}_{unit}" for unit in UNITS)
    )
