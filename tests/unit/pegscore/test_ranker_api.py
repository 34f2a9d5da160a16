"""The estimator keeps scikit-learn's own rules."""

from __future__ import annotations

import pytest
from sklearn.utils.estimator_checks import parametrize_with_checks

from pegscore.ranker import PegRanker


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")  # the checks provoke the library's own warnings
@parametrize_with_checks([PegRanker(max_iter=15)])
def test_the_library_checks_hold(estimator, check):
    check(estimator)
