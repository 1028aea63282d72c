"""Means and differences against scipy, and the claim that their intervals know of the measurement's shared error."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from service.practice.estimates import Estimate, difference_estimate, mean_estimate

SAME = 1e-9
"""Two programs in double precision."""


@pytest.mark.parametrize("count", [2, 9])
def test_without_measurement_error_a_mean_has_students_interval(count: int) -> None:
    values = np.random.default_rng(1).normal(0.3, 0.2, count)
    estimate = mean_estimate(values, np.zeros(count))
    expected = stats.ttest_1samp(values, 0.0)
    interval = expected.confidence_interval(0.95)
    assert (estimate.low, estimate.high) == pytest.approx(tuple(interval), rel=SAME)
    assert estimate.p == pytest.approx(expected.pvalue, rel=1e-7)  # a tail far out


def test_without_measurement_error_a_difference_is_welchs() -> None:
    rng = np.random.default_rng(2)
    one, other = rng.normal(0.4, 0.3, 7), rng.normal(0.1, 0.1, 15)
    estimate = difference_estimate(one, np.zeros(7), other, np.zeros(15))
    expected = stats.ttest_ind(one, other, equal_var=False)
    interval = expected.confidence_interval(0.95)
    assert (estimate.low, estimate.high) == pytest.approx(tuple(interval), rel=SAME)
    assert (estimate.p, estimate.freedom) == pytest.approx((expected.pvalue, expected.df), rel=1e-7)


def test_shared_error_does_not_shrink_with_the_number_of_boards() -> None:
    values = np.random.default_rng(3).normal(0.0, 0.1, 10_000)
    assert mean_estimate(values, np.full(10_000, 0.1)).error == pytest.approx(0.1 * math.sqrt(0.5), rel=2e-4)  # 1/100^2
    assert mean_estimate(values, np.full(10_000, 0.1), common=0.0).error == pytest.approx(
        0.001, rel=0.03
    )  # 4 / sqrt(2n)


def test_scatter_below_the_photos_own_is_not_believed() -> None:
    """Ten equal values, half of the variance of u = 0.2 different in each photo, half common to all."""
    estimate = mean_estimate(np.full(10, 0.3), np.full(10, 0.2))
    assert estimate.error == pytest.approx(0.2 * math.sqrt(0.5 / 10 + 0.5), rel=SAME)
    assert estimate.measured == pytest.approx(1.0, rel=SAME)


def test_the_share_of_the_measurement_is_told() -> None:
    """Scatter variance s2 / n holds the photos' own part already."""
    values, u = np.array([0.0, 1.0, 0.0, 1.0]), np.full(4, 0.1)
    estimate = mean_estimate(values, u, common=0.5)
    variance = values.var(ddof=1) / 4 + 0.5 * 0.01
    assert estimate.error**2 == pytest.approx(variance, rel=SAME)
    assert estimate.measured == pytest.approx((0.5 * 0.01 / 4 + 0.5 * 0.01) / variance, rel=SAME)


def test_more_comparisons_widen_the_simultaneous_interval_alone() -> None:
    estimate = Estimate(1.0, 0.4, 8.0, (9,))
    among = estimate.among(10)
    assert among.half_width == estimate.half_width
    assert among.simultaneous == pytest.approx(0.4 * stats.t.ppf(1.0 - 0.0025, 8), rel=SAME)
    assert (estimate.firm, among.firm, among.firm_size) == (True, False, 0.0)


def test_an_exact_difference_is_firm_if_it_is_one() -> None:
    assert Estimate(0.1, 0.0, math.inf, (3,)).firm
    assert Estimate(0.0, 0.0, math.inf, (3,)).p == 1.0


def test_one_value_has_no_interval() -> None:
    with pytest.raises(ValueError, match="at least two for an interval, got 1"):
        mean_estimate(np.array([0.1]), np.array([0.1]))


@pytest.mark.parametrize("common", [0.0, 0.5])
def test_intervals_of_differences_hold_the_truth_when_two_cards_differ(common: float) -> None:
    """Two periods photographed beside two cards, whose error is shared by all boards of a period.

    With half of the variance common the 95 % interval holds the truth in 95 % of 1500 draws, four standard deviations
    of the share being 0.023; an interval that thinks all errors independent holds it far less often.
    """
    rng = np.random.default_rng(4)
    held = np.mean([_holds(rng, common) for _ in range(1500)])
    if common:
        assert held == pytest.approx(0.95, abs=0.023)
    else:
        assert held < 0.75


def _holds(rng: np.random.Generator, common: float) -> bool:
    """Ten boards each, u = 0.1, half of its variance shared; practice scatters by 0.1; the true difference is 0.2."""
    shared, own = 0.1 * math.sqrt(0.5), 0.1 * math.sqrt(0.5)
    late, early = (
        level + rng.normal(0.0, shared) + rng.normal(0.0, 0.1, 10) + rng.normal(0.0, own, 10) for level in (0.3, 0.1)
    )
    estimate = difference_estimate(late, np.full(10, 0.1), early, np.full(10, 0.1), common=common)
    return estimate.low < 0.2 < estimate.high
