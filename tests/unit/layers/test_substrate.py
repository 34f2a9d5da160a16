"""Grabs of the bottom spread over the water."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from shapely import LineString, box

from layers.channel import Channel
from layers.errors import LayerError
from layers.grid import Bounds, Grid
from layers.river import SUBSTRATES
from layers.substrate import DEFAULT_SPREAD, interpolate_substrate

LINE = LineString([(0, 0), (300, 0)])
WATER = box(0, -10, 300, 10)


@pytest.fixture(scope="module")
def channel():
    return Channel.fit(LINE, WATER)


@pytest.fixture(scope="module")
def cells(channel, crs):
    return channel.wet_cells(Grid.covering(Bounds.of(WATER), cell_m=1.0, crs=crs))


def grabs(places, words, *, by_feel=False):
    """One row a sample wholly of one word."""
    table = pd.DataFrame(
        [{word: float(word == said) for word in SUBSTRATES} for said in words]
    )
    table["easting"], table["northing"] = np.array(places, float).T
    table["by_feel"] = by_feel
    return table


def many(count=60, seed=4):
    """Sand upstream of 150 m, gravel below, at random places."""
    rng = np.random.default_rng(seed)
    places = np.column_stack([rng.uniform(0, 300, count), rng.uniform(-10, 10, count)])
    return grabs(places, np.where(places[:, 0] < 150, "sand", "gravel"))


def at(cells, easting, northing):
    return int(np.hypot(cells.easting - easting, cells.northing - northing).argmin())


def test_the_five_common_classes_are_always_there(channel, cells):
    field = interpolate_substrate(grabs([(10.5, 0.5)], ["sand"]), channel, cells)
    assert list(field.shares) == ["silt", "sand", "gravel", "cobble", "boulder"]


def test_clay_and_bedrock_appear_once_surveyed_in_the_survey_s_order(channel, cells):
    table = grabs([(10.5, 0.5), (90.5, 0.5)], ["bedrock", "clay"])
    field = interpolate_substrate(table, channel, cells)
    assert list(field.shares) == list(SUBSTRATES)


def test_a_cell_on_a_weighed_sample_has_its_shares_and_full_confidence(channel, cells):
    table = grabs([(10.5, 0.5), (90.5, 3.5), (200.5, -4.5)], ["sand"] * 3)
    table.loc[1, ["sand", "gravel"]] = [0.3, 0.7]
    field = interpolate_substrate(table, channel, cells)
    here = at(cells, 90.5, 3.5)
    # Distances are kept above a nanometre, and the coordinates round-trip to that.
    assert field.shares["gravel"][here] == pytest.approx(0.7, abs=1e-6)
    assert field.confidence[here] == pytest.approx(1.0, abs=1e-6)


def test_a_word_by_feel_is_softened_into_its_neighbours(channel, cells):
    table = grabs([(10.5, 0.5)], ["gravel"], by_feel=True)
    field = interpolate_substrate(table, channel, cells)
    here = at(cells, 10.5, 0.5)
    got = [float(share[here]) for share in field.shares.values()]
    np.testing.assert_allclose(got, [0, 0.1, 0.8, 0.1, 0], atol=1e-12)


def test_silt_by_feel_softens_to_sand_alone_where_there_is_no_clay(channel, cells):
    table = grabs([(10.5, 0.5)], ["silt"], by_feel=True)
    field = interpolate_substrate(table, channel, cells)
    here = at(cells, 10.5, 0.5)
    assert "clay" not in field.shares
    assert field.shares["sand"][here] == pytest.approx(0.2, abs=1e-12)


def test_samples_at_one_place_are_averaged(channel, cells):
    table = grabs([(10.5, 0.5), (10.5, 0.5)], ["sand", "gravel"])
    field = interpolate_substrate(table, channel, cells)
    here = at(cells, 10.5, 0.5)
    assert field.shares["sand"][here] == pytest.approx(0.5, abs=1e-9)


def test_far_from_any_sample_the_shares_are_the_stretch_s_mean(channel, cells):
    places = [(1.5, -9.5), (1.5, 9.5), (2.5, 9.5), (3.5, 9.5)]
    table = grabs(places, ["silt", "silt", "sand", "gravel"])
    field = interpolate_substrate(table, channel, cells)
    far = at(cells, 299.5, 0.5)
    # exp(-59 / 15) = 0.02 of the local value is left at the far end.
    assert field.confidence[far] < 0.03
    assert field.shares["silt"][far] == pytest.approx(0.5, abs=0.03)


def test_confidence_falls_to_a_third_over_the_default_range_across(channel, cells):
    field = interpolate_substrate(grabs([(50.5, -8.5)], ["sand"]), channel, cells)
    off_m = 15.0
    here = at(cells, 50.5, -8.5 + off_m)
    expected = np.exp(-off_m / DEFAULT_SPREAD.range_m)
    assert field.confidence[here] == pytest.approx(expected, rel=1e-6)


def test_a_uniform_bed_stays_uniform(channel, cells):
    table = many()
    table[["sand", "gravel"]] = [0.25, 0.75]
    field = interpolate_substrate(table, channel, cells)
    np.testing.assert_allclose(field.shares["gravel"], 0.75, rtol=0, atol=1e-12)


def test_a_bed_in_two_halves_is_found_again(channel, cells):
    field = interpolate_substrate(many(), channel, cells)
    names = list(field.shares)
    likeliest = np.array(names)[np.argmax(list(field.shares.values()), axis=0)]
    inside = np.abs(cells.easting - 150) > 20  # 20 m: about the samples' spacing
    truth = np.where(cells.easting < 150, "sand", "gravel")
    assert np.mean(likeliest[inside] == truth[inside]) > 0.98


def test_the_order_of_samples_does_not_matter(channel, cells):
    table = many()
    one = interpolate_substrate(table, channel, cells)
    other = interpolate_substrate(table.sample(frac=1, random_state=1), channel, cells)
    assert one.spread == other.spread
    for name, share in one.shares.items():
        np.testing.assert_array_equal(share, other.shares[name])


def test_a_bed_without_pattern_leans_to_the_mean(channel, cells):
    rng = np.random.default_rng(8)
    table = many(200)
    shuffled = rng.permutation(len(table))
    table[list(SUBSTRATES)] = table[list(SUBSTRATES)].to_numpy()[shuffled]
    ordered = interpolate_substrate(many(200), channel, cells)
    noise = interpolate_substrate(table, channel, cells)
    assert noise.confidence.mean() < ordered.confidence.mean() / 2


def test_few_samples_take_the_default_and_say_so(channel, cells):
    field = interpolate_substrate(many(14), channel, cells)
    assert field.spread == DEFAULT_SPREAD
    assert "too few samples" in field.notes[0]


def test_the_table_handed_in_is_left_as_it_was(channel, cells):
    table = grabs([(10.5, 0.5), (90.5, 0.5)], ["sand", "silt"], by_feel=True)
    before = table.copy()
    interpolate_substrate(table, channel, cells)
    pd.testing.assert_frame_equal(table, before)


def test_no_sample_at_all_is_refused(channel, cells):
    with pytest.raises(LayerError, match="0 samples"):
        interpolate_substrate(many().head(0), channel, cells)
