"""Standard deviations told by medians, against scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import median_abs_deviation, norm

from calibration.robust import MAD_TO_SD, robust_sigma


def test_the_factor_is_that_of_a_normal_distribution() -> None:
    assert pytest.approx(1.0 / norm.ppf(0.75), rel=1e-5) == MAD_TO_SD


def test_a_few_wild_values_leave_the_standard_deviation_where_it_is() -> None:
    values = np.random.default_rng(5).normal(0.0, 0.3, 1000)
    values[::50] = 100.0
    about = values - np.median(values)
    assert robust_sigma(about) == pytest.approx(median_abs_deviation(values, scale="normal"), rel=1e-5)
    assert robust_sigma(about) == pytest.approx(0.3, rel=0.1)
