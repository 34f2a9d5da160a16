"""How a survey falls into lines, and what leaving them out gives, by hand."""

import numpy as np

from layers.crossvalidation import Lines, find_lines, folds, left_out


def test_cross_lines_are_found_whatever_the_order_of_the_file(rng):
    along = np.repeat(np.arange(0.0, 200, 20), 8) + rng.normal(0, 0.5, 80)
    across = np.tile(np.linspace(-9, 9, 8), 10)
    shuffled = rng.permutation(80)
    lines = find_lines(along[shuffled], across[shuffled], width_m=20)
    assert lines.label.tolist() == (shuffled // 8).tolist()
    assert abs(lines.spacing_m - 20) < 0.5
    assert lines.kind == "lines"


def test_a_zig_zag_falls_into_legs_from_bank_to_bank():
    step = np.arange(200)  # 20 steps of 1 m across, then back, 0.5 m along each
    across = 10 - np.abs(step % 40 - 20.0)
    lines = find_lines(0.5 * step, across, width_m=20)
    assert lines.count == 10
    assert np.bincount(lines.label).tolist()[1:-1] == [20] * 8
    assert abs(lines.spacing_m - 10) < 0.1


def test_a_run_along_the_bank_is_cut_into_pieces():
    lines = find_lines(np.arange(0.0, 300, 3), np.zeros(100), width_m=20)
    pieces = [np.ptp(np.arange(0.0, 300, 3)[lines.label == k]) for k in range(9)]
    assert max(pieces) <= 1.5 * 20
    assert lines.count == 10


def test_a_scattered_survey_is_cut_into_stretches(rng):
    lines = find_lines(rng.uniform(0, 600, 300), rng.uniform(-10, 10, 300), width_m=20)
    assert lines.kind == "scattered"
    # 600 x 20 m2 over 300 points: one in 40 m2, 6.3 m apart, stretches of 12.6 m
    assert abs(lines.spacing_m - 2 * np.sqrt(40)) < 3  # by the draw


def test_lines_sounded_twice_count_once_in_the_spacing():
    along = np.repeat([0.0, 0.3, 20, 20.2, 40, 40.1, 60], 6)
    across = np.tile(np.linspace(-9, 9, 6), 7)
    assert abs(find_lines(along, across, width_m=20).spacing_m - 20) < 0.3


def test_folds_leave_every_line_out_once_and_never_two_neighbours():
    lines = Lines(label=np.repeat(np.arange(12), 3), spacing_m=10, kind="lines")
    masks = list(folds(lines))
    assert np.sum(masks, axis=0).tolist() == [1] * 36
    for mask in masks:
        out = np.unique(lines.label[mask])
        assert np.diff(out).min() >= 5


def test_left_out_values_are_held_against_what_stays():
    values = np.array([1.0, 2.0, 6.0])
    each = (np.arange(3) == k for k in range(3))
    errors = left_out(values, each, lambda kept, _: np.array([values[kept].mean()]))
    np.testing.assert_allclose(errors, [1 - 4, 2 - 3.5, 6 - 1.5], atol=1e-12)


def test_what_no_fold_left_out_is_unknown():
    masks = iter([np.array([True, True]), np.array([False, False])])
    errors = left_out(np.ones(2), masks, lambda _, wanted: np.zeros(wanted.sum()))
    assert np.isnan(errors).all()
