"""What the returns say of each peg, in sentences that tell of no person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore.catches import catch_rates, peg_effort, tellable

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from pegscore.returns import Visits


def catch_sentences(
    visits: Visits, titles: Mapping[str, str]
) -> dict[str, tuple[str, ...]]:
    """Return the effort and each species' catch an hour, by peg.

    Only pegs with enough visits and anglers behind them have an entry
    (``pegscore.catches``); a species that was never caught there is left out.

    Parameters
    ----------
    visits : Visits
        The cleaned returns.
    titles : mapping of str to str
        The species to tell of and what each is called.
    """
    effort = peg_effort(visits)
    shown = effort[tellable(effort)]
    told = {str(peg): [_effort_words(row)] for peg, row in shown.iterrows()}
    for species, title in titles.items():
        rates = catch_rates(visits, species)
        for peg, row in rates[rates["caught"] > 0].iterrows():
            told[str(peg)].append(_rate_words(title, row))
    return {peg: tuple(lines) for peg, lines in told.items()}


def _effort_words(row: pd.Series) -> str:
    return (
        f"{row['visits']:.0f} visits by {row['anglers']:.0f} anglers, "
        f"{row['hours']:.0f} hours"
    )


def _rate_words(title: str, row: pd.Series) -> str:
    return (
        f"{title}: {row['caught']:.0f} in {row['hours']:.0f} hours, "
        f"{row['per_hour']:.2f} an hour (80 % interval {row['low']:.2f} to "
        f"{row['high']:.2f})"
    )
