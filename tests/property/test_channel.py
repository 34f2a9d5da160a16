"""What must hold of channel coordinates wherever a river lies and however it turns."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, affinity

from layers.channel import Channel


def river(swing, wavelength_m, half_m):
    along = np.arange(0.0, 400.0, 2.0)
    angle = swing * np.sin(2 * np.pi * along / wavelength_m)
    path = np.column_stack([np.cumsum(np.cos(angle)), np.cumsum(np.sin(angle))]) * 2.0
    line = LineString(path)
    return line, line.buffer(half_m, cap_style="flat")


PLACES = np.random.default_rng(5).uniform((0, -0.95), (1, 0.95), (60, 2))

swings = st.floats(0.0, 1.2)
wavelengths = st.floats(300.0, 500.0)
halves = st.floats(4.0, 14.0)


def places_of(channel, half_m):
    return channel.to_world(PLACES[:, 0] * channel.length_m, PLACES[:, 1] * half_m)


@given(swings, wavelengths, halves, st.floats(-180, 180), st.floats(-1e6, 1e6))
@settings(max_examples=25)
def test_moving_and_turning_the_survey_changes_nothing(swing, wave, half, turn, shift):
    line, water = river(swing, wave, half)
    channel = Channel.fit(line, water)
    east, north = places_of(channel, half)

    def moved(shape):
        turned = affinity.rotate(shape, turn, origin=(0, 0))
        return affinity.translate(turned, shift, -shift / 3)

    track = moved(LineString(np.column_stack([east, north])))
    other = Channel.fit(moved(line), moved(water))
    found = other.to_channel(*np.array(track.coords).T)
    # coordinates of a million metres carry 1e-10 m; the fit magnifies a little
    np.testing.assert_allclose(found, channel.to_channel(east, north), atol=1e-6)


@given(swings, wavelengths, halves)
@settings(max_examples=25)
def test_a_mirrored_river_has_mirrored_offsets(swing, wave, half):
    line, water = river(swing, wave, half)
    channel = Channel.fit(line, water)
    east, north = places_of(channel, half)
    mirror = [1, 0, 0, -1, 0, 0]
    other = Channel.fit(
        affinity.affine_transform(line, mirror),
        affinity.affine_transform(water, mirror),
    )
    chainage_m, offset_m = channel.to_channel(east, north)
    found = other.to_channel(east, -north)
    np.testing.assert_allclose(found, [chainage_m, -offset_m], atol=1e-6)


@given(swings, wavelengths, halves)
@settings(max_examples=25)
def test_world_and_channel_undo_each_other(swing, wave, half):
    channel = Channel.fit(*river(swing, wave, half))
    found = channel.to_channel(*places_of(channel, half))
    wanted = PLACES[:, 0] * channel.length_m, PLACES[:, 1] * half
    np.testing.assert_allclose(found, wanted, atol=1e-6)  # R/W >= 1.7: never folds


@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_harmonic_coordinates_also_turn_with_the_survey(turn):
    line, water = river(1.3, 130.0, 15.0)
    east, north = LineString(line.coords[10:-10]).xy
    channel = Channel.fit(line, water)
    spun = [affinity.rotate(shape, turn, origin=(0, 0)) for shape in (line, water)]
    track = affinity.rotate(LineString(line.coords[10:-10]), turn, origin=(0, 0))
    found = Channel.fit(*spun).to_channel(*track.xy)
    # the mesh turns along; a cell on the very edge may change sides: a tenth of a cell
    np.testing.assert_allclose(found, channel.to_channel(east, north), atol=0.1)
