"""Student's t and chi-squared against scipy's distributions."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats

from calibration.study.student import spread_factors, student, two_sided_p


@pytest.mark.parametrize("freedom", [1.0, 2.0, 3.7, 12.0, 200.0])
@pytest.mark.parametrize("confidence", [0.95, 0.99])
def test_students_factor_is_that_of_scipy(confidence: float, freedom: float) -> None:
    expected = scipy.stats.t.ppf((1.0 + confidence) / 2.0, freedom)
    assert student(confidence, freedom) == pytest.approx(expected, rel=1e-9)  # two numerical inversions


def test_without_end_of_freedom_students_factor_is_the_normal_one() -> None:
    assert student(0.95, 1e30) == pytest.approx(scipy.stats.norm.ppf(0.975), rel=1e-6)  # 1 / MOST_FREEDOM and more


@pytest.mark.parametrize("freedom", [1.0, 2.5, 30.0, math.inf])
def test_the_tail_beyond_a_t_is_that_of_scipy(freedom: float) -> None:
    expected = 2.0 * scipy.stats.t.sf(1.7, freedom)
    assert two_sided_p(-1.7, freedom) == pytest.approx(expected, rel=1e-6)  # 1 / MOST_FREEDOM and more


@pytest.mark.parametrize("freedom", [1, 2, 7, 60])
def test_the_interval_of_a_standard_deviation_is_chi_squareds(freedom: int) -> None:
    high, low = np.sqrt(freedom / scipy.stats.chi2.ppf([0.025, 0.975], freedom))
    assert spread_factors(0.95, freedom) == pytest.approx((low, high), rel=1e-9)
