"""Problems found in what a club handed in, each with its place and way out."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from layers.errors import SurveyRefused

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """One thing wrong, where it is and what to do about it.

    Parameters
    ----------
    code : str
        A short stable slug such as ``missing-column``, for machines and tests.
    file : str
        The file's name inside the survey folder.
    what : str
        What is wrong, in plain words.
    way_out : str
        What the club can do about it.
    row : int, optional
        The row as a spreadsheet numbers it: the header is row 1. For a shape
        file, the feature's number, the first being 1.
    column : str, optional
        The column as the file spells it.
    value : str, optional
        The offending value as the file has it.
    refused : bool, default=True
        True stops the run; False is a warning that the run goes on with.

    Examples
    --------
    >>> print(Problem(code="depth-range", file="soundings.csv", row=7,
    ...               column="depth_m", value="-2", what="a depth below zero",
    ...               way_out="write depths as positive numbers").line())
    soundings.csv row 7, column depth_m, value '-2': a depth below zero;
    write depths as positive numbers
    """

    code: str
    file: str
    what: str
    way_out: str
    row: int | None = None
    column: str | None = None
    value: str | None = None
    refused: bool = True

    def place(self) -> str:
        """Say where the problem is: file, row, column and value."""
        place = self.file
        if self.row is not None:
            place += f" row {self.row}"
        if self.column is not None:
            place += f", column {self.column}"
        if self.value is not None:
            place += f", value {self.value!r}"
        return place

    def line(self) -> str:
        """Return the whole problem as one line of text."""
        text = f"{self.place()}: {self.what}; {self.way_out}"
        return " ".join(text.split())

    def as_dict(self) -> dict[str, Any]:
        """Return the problem as plain values, for ``--json``."""
        return asdict(self)


@dataclass(slots=True)
class ProblemList:
    """Collects problems so that a club hears of all of them at once."""

    found: list[Problem] = field(default_factory=list)

    def refuse(self, code: str, file: str, what: str, way_out: str, **at: Any) -> None:  # noqa: ANN401
        """Note something that stops the run."""
        self.found.append(
            Problem(code=code, file=file, what=what, way_out=way_out, **at)
        )

    def warn(self, code: str, file: str, what: str, way_out: str, **at: Any) -> None:  # noqa: ANN401
        """Note something the run goes on with."""
        self.found.append(
            Problem(
                code=code, file=file, what=what, way_out=way_out, refused=False, **at
            )
        )

    @property
    def refusals(self) -> list[Problem]:
        """The problems that stop the run."""
        return [problem for problem in self.found if problem.refused]

    @property
    def warnings(self) -> list[Problem]:
        """The problems the run goes on with."""
        return [problem for problem in self.found if not problem.refused]

    def stop_if_refused(self) -> None:
        """Raise ``SurveyRefused`` with every refusal, if there is one."""
        if self.refusals:
            raise SurveyRefused(self.refusals)


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that ``name`` is most likely a slip for, or None.

    Examples
    --------
    >>> nearest_name("dept_m", ["depth_m", "level_m"])
    'depth_m'
    >>> nearest_name("colour", ["depth_m", "level_m"]) is None
    True
    """
    matches = get_close_matches(name.strip().lower(), list(known), n=1, cutoff=0.7)
    return matches[0] if matches else None
