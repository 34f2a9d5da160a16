import numpy as np
import pytest
from scipy.optimize import brentq

from layers.tubes import Tubes


def drawn(seed, *, count=30, least=1e-3):
    draw = np.random.default_rng(seed)
    shed = draw.uniform(1.0, 1.6, count)
    held = draw.uniform(0.1, 1.0, count) * least
    area_m2 = draw.uniform(0.05, 2.0, count)
    # Tubes held to their least already pass so much, and no lift makes it less.
    fewest = float((area_m2 * np.sqrt(held / shed)).sum())
    tubes = Tubes(
        nodes=slice(0, count),
        source=slice(0, count),
        shed=shed,
        least=held,
        area_m2=area_m2,
        share=fewest * draw.uniform(1.05, 40.0),
    )
    return tubes, draw


@pytest.mark.parametrize("seed", range(40))
def test_the_share_passes_whatever_the_tubes_bring(seed):
    tubes, draw = drawn(seed, least=10.0 ** (seed % 5 - 4))
    # Weak and strong heads in turn: a start from the last lift may be far away.
    for size in (1.0, 0.01, 300.0, 0.0):
        head = size * draw.normal(size=30)
        speed = tubes.carry(head)
        passing = (speed * tubes.weight * tubes.slowed).sum()
        # Newton's steps end at 1e-13 of the share; the rest is rounding.
        assert passing == pytest.approx(tubes.share, rel=1e-11)


@pytest.mark.parametrize("seed", range(10))
def test_the_lift_is_the_root_that_bisection_finds(seed):
    tubes, draw = drawn(seed)
    head = draw.normal(size=30)
    tubes.carry(head)

    def missing(lift):
        root = np.sqrt(np.maximum(head + lift, tubes.least))
        return tubes.share - (tubes.weight * root).sum()

    # brentq's own default tolerance is 2e-12 of a lift of order 1 to 100.
    assert tubes.lift == pytest.approx(brentq(missing, -10, 1e5), rel=1e-9, abs=1e-9)


def test_a_tube_that_is_held_to_its_least_energy_is_called_stopped():
    tubes = Tubes(
        nodes=slice(0, 2),
        source=slice(0, 2),
        shed=np.array([4.0, 1.0]),
        least=np.array([0.04, 0.04]),
        area_m2=np.ones(2),
        share=2.1,
    )
    speed = tubes.carry(np.array([-50.0, 0.0]))
    # The first passes sqrt(0.04 / 4) = 0.1; 2.0 is left for the second.
    np.testing.assert_allclose(speed, [0.1, 2.0], rtol=1e-12)  # rounding
    assert tubes.stopped.tolist() == [True, False]
    assert tubes.lift == pytest.approx(4.0, rel=1e-12)
