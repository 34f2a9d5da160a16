"""One section of ``river.toml``, asked for key by key, every problem noted."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from layers.problems import nearest_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from layers.problems import ProblemList

FILE = "river.toml"

KEYS: Mapping[str, tuple[str, ...]] = {
    "river": ("name", "crs"),
    "gauge": ("level_m", "zero_m", "x", "y", "lon", "lat", "slope"),
    "rating": ("a", "b", "offset_m"),
    "season": ("closed", "note"),
}
"""The sections and keys that are known."""


class Section:
    """One ``[section]`` of the file, asked for key by key."""

    def __init__(self, name: str, values: Any, problems: ProblemList) -> None:  # noqa: ANN401  # TOML holds anything
        self.name = name
        self.problems = problems
        self.values: dict[str, Any] = values if isinstance(values, dict) else {}
        for key in self.values:
            if key not in KEYS[name]:
                self._report_stranger(key)

    def _report_stranger(self, key: str) -> None:
        likely = nearest_name(key, KEYS[self.name])
        self.problems.warn(
            "unused-key",
            FILE,
            "the key is not used",
            f"rename it to {likely!r} if that is it"
            if likely
            else "nothing to do if it is a note of your own",
            column=f"{self.name}.{key}",
        )

    def refuse(self, code: str, key: str, what: str, way_out: str) -> None:
        """Note a refusal of one key, with its value if it is there."""
        value = str(self.values[key]) if key in self.values else None
        self.problems.refuse(
            code, FILE, what, way_out, column=f"{self.name}.{key}", value=value
        )

    def has(self, key: str) -> bool:
        """Say whether the section has a key."""
        return key in self.values

    def number(self, key: str, *, low: float, high: float, advice: str) -> float | None:
        """Return a number within limits, or None with a problem noted."""
        if key not in self.values:
            self.refuse("missing-key", key, "the key is missing", advice)
            return None
        value = self.values[key]
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.refuse(
                "not-a-number", key, "this is not a number", "write it without quotes"
            )
            return None
        if isinstance(value, float) and not math.isfinite(value):
            self.refuse("not-finite", key, "this is no finite number", advice)
            return None
        if not low <= value <= high:
            what = f"the value is beyond {low:g} to {high:g}"
            self.refuse(f"{key.replace('_', '-')}-range", key, what, advice)
            return None
        return float(value)

    def text(self, key: str, advice: str) -> str | None:
        """Return a text that is not empty, or None with a problem noted."""
        value = self.values.get(key)
        if isinstance(value, str) and value.strip():
            return value.strip()
        code = "not-text" if key in self.values else "missing-key"
        self.refuse(code, key, f"there is no text for {key!r}", advice)
        return None
