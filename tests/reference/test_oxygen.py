"""Oxygen in fresh water against the table of Standard Methods (Benson & Krause)."""

from __future__ import annotations

import pytest

from pegscore.oxygen import oxygen_needs, saturation_mg_l

SEEN = {0: 14.621, 8: 11.843, 16: 9.870, 24: 8.418, 32: 7.305, 40: 6.413}
"""Printed with a public script that reproduces the table; seen."""

FROM_MEMORY = {5: 12.770, 10: 11.288, 15: 10.084, 20: 9.092, 25: 8.263, 30: 7.559}
"""The same table's entries from memory, not opened again."""


@pytest.mark.parametrize(("temp_c", "mg_l"), [*SEEN.items(), *FROM_MEMORY.items()])
def test_saturation_is_the_published_tables(temp_c, mg_l):
    """The table has three decimals; printed copies differ by one in the last."""
    assert float(saturation_mg_l(temp_c)) == pytest.approx(mg_l, abs=0.0011)


def test_fish_are_hurt_in_the_order_that_the_agency_gives():
    """Trout first, then roach, finally carp and tench alike (``ea_order``)."""
    needs, at = oxygen_needs(), 3.5
    trout, roach, carp = (
        float(needs[name].curve(at)) for name in ("salmonid", "eurytopic", "tolerant")
    )
    assert trout < roach < carp
