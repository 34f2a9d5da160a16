"""One table under examination: typed columns out, every problem noted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from layers import cells as reading
from layers.columns import (
    FOOT_M,
    LIMITS,
    TAKEN,
    in_feet,
    known_columns,
    likely_column,
    unit_choices,
)
from layers.problems import nearest_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from layers.columns import Limit
    from layers.problems import ProblemList
    from layers.tables import Table

HIDDEN = "(hidden)"
PRIVATE = frozenset({"angler"})
"""Columns whose values never appear in a message."""

EMPTY_ADVICE = "fill the cell or delete the row"


class Sheet:
    """The cells of one survey file, asked for column by column.

    Parameters
    ----------
    stem : str
        Which survey table it is: ``soundings``, ``pegs``, ...
    file : str
        The file's name, for messages.
    table : Table
        The text.
    problems : ProblemList
        Where everything that is wrong goes.
    """

    def __init__(
        self, stem: str, file: str, table: Table, problems: ProblemList
    ) -> None:
        self.stem = stem
        self.file = file
        self.problems = problems
        self.known = known_columns(stem)
        self._spelled = {name.lower(): name for name in table.cells.columns}
        self._cells = table.cells.rename(columns=str.lower)
        self._comma_decimals = table.comma_decimals

    @property
    def index(self) -> pd.Index[Any]:
        """The rows as a spreadsheet numbers them."""
        return self._cells.index

    def has(self, name: str) -> bool:
        """Say whether the file has a column."""
        return name in self._cells.columns

    def text(self, name: str) -> pd.Series:
        """Return a column as text, ``""`` where empty or where there is none."""
        if not self.has(name):
            return pd.Series("", index=self.index, dtype=object, name=name)
        return self._cells[name]

    def require(self, *names: str) -> bool:
        """Note each column of ``names`` that is missing; say whether all are there."""
        missing = [name for name in names if not self.has(name)]
        for name in missing:
            self.refuse_file(
                "missing-column",
                f"there is no column {name!r}",
                self._rename_advice(name),
                column=name,
            )
        return not missing

    def _rename_advice(self, name: str) -> str:
        likely = {likely_column(other, (name,)): other for other in self._strangers()}
        if name in likely:
            return f"rename {self._spelled[likely[name]]!r} to {name!r} if that is it"
        return f"add a column {name!r}"

    def refuse_file(
        self, code: str, what: str, way_out: str, *, column: str | None = None
    ) -> None:
        """Note a refusal of the file as a whole."""
        self.problems.refuse(code, self.file, what, way_out, column=column)

    def warn_file(
        self, code: str, what: str, way_out: str, *, column: str | None = None
    ) -> None:
        """Note a warning about the file as a whole."""
        self.problems.warn(code, self.file, what, way_out, column=column)

    def refuse(
        self, code: str, bad: pd.Series, what: str, way_out: str, *, column: str
    ) -> None:
        """Note a refusal for every row where ``bad`` is true."""
        for row in bad.index[bad]:
            self.problems.refuse(
                code, self.file, what, way_out, **self._at(row, column)
            )

    def warn(
        self, code: str, bad: pd.Series, what: str, way_out: str, *, column: str
    ) -> None:
        """Note a warning for every row where ``bad`` is true."""
        for row in bad.index[bad]:
            self.problems.warn(code, self.file, what, way_out, **self._at(row, column))

    def repeated(self) -> pd.Series:
        """Say which rows hold in every cell what an earlier row holds."""
        again: pd.Series = self._cells.duplicated()
        return again

    def _at(self, row: int, column: str) -> dict[str, Any]:
        if not self.has(column):
            return {"row": int(row)}
        value = HIDDEN if column in PRIVATE else self._cells.loc[row, column]
        return {"row": int(row), "column": self._spelled[column], "value": value}

    def refuse_empty(self, name: str) -> None:
        """Note every empty cell of a column that must be filled."""
        empty = self.text(name) == ""
        self.refuse("empty-cell", empty, "the cell is empty", EMPTY_ADVICE, column=name)

    def numbers(
        self, name: str, *, factor: float = 1.0, limit: Limit | None = None
    ) -> pd.Series:
        """Return a column times ``factor``, ``NaN`` where empty or refused.

        The limit, by default that of the name, is for the converted value.
        """
        if not self.has(name):
            return pd.Series(np.nan, index=self.index, name=name)
        read = reading.numbers(self.text(name), comma_decimals=self._comma_decimals)
        self._report_numbers(name, read)
        values = read.value * factor
        limit = LIMITS.get(name) if limit is None else limit
        return values if limit is None else self._within(name, values, limit)

    def _report_numbers(self, name: str, read: reading.Numbers) -> None:
        self.refuse(
            "not-a-number",
            read.unreadable,
            "this is not a number",
            "write the number alone, without its unit, or leave the cell empty",
            column=name,
        )
        self.refuse(
            "not-finite",
            read.not_finite,
            "this is no finite number",
            "leave the cell empty for an unknown value",
            column=name,
        )
        self.refuse(
            "decimal-comma",
            read.comma,
            "a comma in a number can mean a decimal or a thousand here",
            "write decimals with a point, as 1.25",
            column=name,
        )

    def _within(self, name: str, values: pd.Series, limit: Limit) -> pd.Series:
        code = f"{limit.thing.replace(' ', '-')}-range"
        low = -np.inf if limit.low is None else limit.low
        high = np.inf if limit.high is None else limit.high
        under = (values <= low) if limit.above else (values < low)
        over = values > high
        what = f"a {limit.thing} here is {limit.says()}"
        self.refuse(code, under, what, limit.low_advice, column=name)
        self.refuse(code, over, what, limit.high_advice, column=name)
        return values.mask(under | over)

    def spelling_of(self, name_m: str) -> str | None:
        """Return which of a column in metres and its twin in feet is there."""
        there = [name for name in (name_m, in_feet(name_m)) if name and self.has(name)]
        if len(there) > 1:
            self.refuse_file(
                "two-units",
                f"{there[0]} and {there[1]} are both there",
                "keep one of the two columns",
                column=self._spelled[there[1]],
            )
        return there[0] if there else None

    def metres(self, name_m: str, *, limit: Limit | None = None) -> pd.Series:
        """Return a length in metres from its column in metres or in feet.

        ``NaN`` where empty, refused or not there.
        """
        name = self.spelling_of(name_m) or name_m
        factor = 1.0 if name == name_m else FOOT_M
        return self.numbers(name, factor=factor, limit=limit or LIMITS.get(name_m))

    def moments(self, name: str) -> pd.Series:
        """Return a column of ISO 8601 dates, ``NaT`` where empty or refused."""
        text = self.text(name)
        values = reading.moments(text)
        wrong = values.isna() & (text != "")
        counted = text.str.fullmatch(reading.DAY_NUMBER.pattern)
        self.refuse(
            "not-a-date",
            wrong & counted,
            "this is a spreadsheet's day number, not an ISO 8601 date",
            "format the column as a date, year-month-day, and save it again",
            column=name,
        )
        self.refuse(
            "not-a-date",
            wrong & ~counted,
            "this is not an ISO 8601 date",
            "write year-month-day, as 2024-05-03 for the 3rd of May",
            column=name,
        )
        return values

    def yes_no(self, name: str) -> pd.Series:
        """Return a column of True, False or, where empty, None."""
        text = self.text(name)
        values = text.map(reading.yes_or_no).astype(object)
        values = values.where(values.notna(), None)
        self.refuse(
            "not-yes-no",
            values.isna() & (text != ""),
            "this is neither yes nor no",
            "write yes or no, or leave the cell empty",
            column=name,
        )
        return values

    def words(self, name: str, allowed: Sequence[str]) -> pd.Series:
        """Return a column of words out of ``allowed``, in small letters; None empty."""
        text = self.text(name).str.lower()
        strange = (text != "") & ~text.isin(allowed)
        for word in text[strange].unique():
            likely = nearest_name(word, allowed)
            meant = f"did you mean {likely!r}? " if likely else ""
            self.refuse(
                "unknown-word",
                strange & (text == word),
                f"this is no {name}",
                f"{meant}use one of {', '.join(allowed)}",
                column=name,
            )
        return text.astype(object).where((text != "") & ~strange, None)

    def _strangers(self) -> list[str]:
        return [name for name in self._cells.columns if name not in self.known]

    def unused(self) -> pd.DataFrame:
        """Return the unknown columns untouched; each is noted once.

        A name that reading itself makes, as ``easting``, gets ``_given`` behind it.
        """
        strangers = self._strangers()
        for name in strangers:
            self._report_stranger(name)
        kept = self._cells[strangers].rename(columns=self._spelled)
        return kept.rename(columns={name: f"{name}_given" for name in TAKEN})

    def _report_stranger(self, name: str) -> None:
        spelled = self._spelled[name]
        choices = unit_choices(name, self.known)
        if choices and not any(self.has(choice) for choice in choices):
            self.refuse_file(
                "missing-unit",
                "the column names no unit that is understood",
                f"convert if need be and name it one of {', '.join(choices)}",
                column=spelled,
            )
            return
        likely = likely_column(name, [one for one in self.known if not self.has(one)])
        self.warn_file(
            "unused-column",
            "the column is not used",
            f"rename it to {likely!r} if that is it"
            if likely
            else "nothing to do if it is a note of your own",
            column=spelled,
        )
