import numpy as np
import pytest

from layers.newton import COLOURS, COLOURS_ASIDE, HEARD, settle
from layers.plane import Plane
from layers.streamtube import Bed


@pytest.fixture(params=range(3))
def drawn(request):
    """A short river over a wild bed with dry places, and a wild state."""
    draw = np.random.default_rng(request.param)
    shape = 20, 16
    depth_m = draw.uniform(0.2, 2.0, shape)
    depth_m[draw.random(shape) < 0.05] = 0.0
    bed = Bed(
        offset_m=np.arange(16.0) - 7.5,
        strip_m=np.ones(shape),
        step_m=2.0,
        curvature=draw.normal(0, 1 / 100, 20),
        depth_m=depth_m,
        roughness=draw.uniform(0.02, 0.05, shape),
    )
    state = np.zeros((20, 17))
    state[:, 1:] = np.cumsum(draw.normal(1 / 16, 0.1, shape), axis=1)
    return Plane(bed=bed), state


def test_the_plane_hears_of_no_unknown_beyond_those_that_are_told(drawn):
    plane, state = drawn
    before = np.stack(plane.balance(state))
    for section, node in np.ndindex(before[0].shape):
        nudged = state.copy()
        nudged[1 + section, 1 + node] += 1e-3
        moved = (np.stack(plane.balance(nudged)) != before).any(axis=0)
        for at, beside in np.argwhere(moved):
            assert abs(beside - node) <= HEARD.get(at - section, -1)


def test_no_balance_hears_of_two_unknowns_nudged_at_once():
    heard = [(on, left) for on, to in HEARD.items() for left in range(-to, to + 1)]
    colours = {(on + COLOURS_ASIDE * left) % COLOURS for on, left in heard}
    assert len(colours) == len(heard)


@pytest.mark.parametrize("shape", [(1, 1), (2, 1), (3, 2), (9, 4), (30, 12)])
def test_a_linear_balance_is_settled_at_its_solution(shape):
    draw = np.random.default_rng(shape[0])
    sections, nodes = shape
    place = [(i, k) for i in range(sections) for k in range(nodes)]
    matrix = np.array(
        [
            [
                draw.normal(0, 0.05)
                if abs(to[1] - at[1]) <= HEARD.get(at[0] - to[0], -1)
                else 0.0
                for to in place
            ]
            for at in place
        ]
    )
    matrix += 2 * np.eye(len(place))
    wanted = draw.uniform(0, 1, len(place))

    def balance(state):
        inner = state[1:, 1:-1].ravel()
        return (matrix @ (inner - wanted)).reshape(shape), inner.reshape(shape) * 1e-3

    found = settle(balance, np.zeros((sections + 1, nodes + 2)), second=1.0)
    # Settled means that nothing moves by more than 2e-4.
    np.testing.assert_allclose(found[1:, 1:-1].ravel(), wanted, atol=2e-4)
