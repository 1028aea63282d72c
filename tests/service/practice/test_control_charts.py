"""Control charts against the worked examples of the NIST/SEMATECH e-Handbook and the known rates of false alarm."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from service.practice.control_chart import D2, D4, baseline_of, moving_ranges
from service.practice.drift import CUSUM_DECISION, CUSUM_SLACK, cusum, ewma, standard_cusum

INDIVIDUALS = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
"""e-Handbook 6.3.2.2."""

EWMA_VALUES = np.array(
    [
        *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
        *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
    ]
)
EWMA_PRINTED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
EWMA_PRINTED += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]
"""e-Handbook 6.3.2.4: weight 0.3, target 50, s 2.0539."""

CUSUM_VALUES = np.array(
    [
        *(324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600),
        *(324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350),
    ]
)
CUSUM_HIGH = [0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035]
CUSUM_LOW = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, 0, 0, 0, 0, 0, 0, 0, 0, 0]
"""e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959; worked out to four places, the printed two agree."""

PRINTED_4 = 5e-5
"""Half of the last of four printed decimals."""
PRINTED_2 = 5.0001e-3
"""Half of the last of two printed decimals; 5.0001 because 49.525 and its like round either way."""


def test_the_individuals_chart_is_the_handbooks() -> None:
    baseline = baseline_of(INDIVIDUALS)
    assert baseline.centre == pytest.approx(50.81, abs=1e-12)  # a mean of numbers with one decimal
    assert baseline.mean_range == pytest.approx(1.8778, abs=PRINTED_4)
    assert baseline.upper == pytest.approx(55.8041, abs=PRINTED_4)
    assert baseline.lower == pytest.approx(45.8159, abs=PRINTED_4)


def test_the_moving_ranges_are_the_handbooks() -> None:
    printed = [2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5]
    assert moving_ranges(INDIVIDUALS) == pytest.approx(printed, abs=1e-12)  # differences of numbers with one decimal
    assert baseline_of(INDIVIDUALS).range_upper == pytest.approx(6.1347, abs=PRINTED_4)


def test_the_constants_of_the_chart_follow_from_the_normal_distribution() -> None:
    """d2 = 2 / sqrt(pi) and D4 = 1 + 3 d3 / d2, d3 = sqrt(2 - 4 / pi), to their printed three decimals."""
    d2, d3 = 2.0 / math.sqrt(math.pi), math.sqrt(2.0 - 4.0 / math.pi)
    assert pytest.approx(d2, abs=5e-4) == D2
    assert pytest.approx(1.0 + 3.0 * d3 / d2, abs=5e-4) == D4


def test_the_ewma_is_the_handbooks() -> None:
    chart = ewma(EWMA_VALUES, 50.0, 2.0539)
    assert chart.averages == pytest.approx(EWMA_PRINTED, abs=PRINTED_2)
    final = chart.half_widths[-1]  # at the 20th value, within 0.7^40 / 2 of where they tend
    assert 50.0 + final == pytest.approx(52.5884, abs=1e-4)
    assert 50.0 - final == pytest.approx(47.4115, abs=1e-4)  # the handbook cuts instead of rounding
    assert len(chart.signals) == 0


def test_the_ewma_limits_widen_from_the_weight_to_their_final_distance() -> None:
    """The variance of the first average is weight^2, that of all of them weight / (2 - weight), times sigma^2."""
    chart = ewma(np.zeros(200), 0.0, 1.0, weight=0.2)
    assert chart.half_widths[0] == pytest.approx(3.0 * 0.2, rel=1e-12)  # closed form
    assert chart.half_widths[-1] == pytest.approx(3.0 * math.sqrt(0.2 / 1.8), rel=1e-12)  # 0.8^400 is nothing


def test_an_ewma_sees_a_small_shift_that_no_single_point_shows() -> None:
    values = np.concatenate([np.tile([0.5, -0.5], 10), np.full(15, 1.4)])
    assert abs(values).max() < 3.0
    assert ewma(values, 0.0, 1.0).signals.min() > 20


def test_a_weight_outside_its_range_is_refused() -> None:
    with pytest.raises(ValueError, match="weight must lie above 0"):
        ewma(INDIVIDUALS, 50.0, 2.0, weight=0.0)


def test_the_tabular_cusum_is_the_handbooks() -> None:
    chart = cusum(CUSUM_VALUES, 325.0, 0.3175, 4.1959)
    assert chart.upper == pytest.approx(CUSUM_HIGH, abs=1e-9)  # sums of twenty numbers near 325
    assert chart.lower == pytest.approx(CUSUM_LOW, abs=1e-9)
    assert chart.signals[0] + 1 == 14


def test_a_cusum_in_control_signals_as_seldom_as_siegmunds_formula_says() -> None:
    """One side: (exp(2 k b) - 2 k b - 1) / (2 k^2), b = h + 1.166 (Siegmund 1985, from memory): 938, two sides 469.

    Run lengths are nearly exponential, so the mean of 800 has a standard error of 469 / sqrt(800) = 16.6; four of them,
    and 1 % for the formula's own error (465.4 is the exact value, from memory).
    """
    reach = 2.0 * CUSUM_SLACK * (CUSUM_DECISION + 1.166)
    expected = (math.exp(reach) - reach - 1.0) / (2.0 * CUSUM_SLACK**2) / 2.0
    rng = np.random.default_rng(20)
    lengths = [_first(standard_cusum(rng.standard_normal(6000), 0.0, 1.0).signals) for _ in range(800)]
    assert np.mean(lengths) == pytest.approx(expected, abs=4.0 * 16.6 + 0.01 * expected)


def test_a_waiting_time_is_charted_on_a_power_of_itself() -> None:
    """On the scale of t^(1/3.6) exponential times are nearly normal, so few lie outside three sigma (Nelson 1994).

    The exact share beyond the limits, from the moments of the Weibull distribution that the power makes, is 0.0006; on
    the plain scale it is exp(-4) = 0.018 with known limits. Between them a factor of ten leaves room for chance.
    """
    days = np.random.default_rng(21).exponential(3.0, 20_000)
    baseline = baseline_of(days, power=1 / 3.6, never_negative=True)
    outside = np.mean((days > baseline.upper) | (days < baseline.lower))
    assert outside < 0.003
    assert np.mean(abs(baseline.scores(days)) > 3.0) == outside
    assert np.mean(days > baseline_of(days).upper) > 0.01


def test_limits_of_what_cannot_be_negative_end_at_zero() -> None:
    values = np.array([0.1, 0.4, 0.0, 0.5, 0.1, 0.3])
    assert baseline_of(values).lower < 0.0
    assert baseline_of(values, never_negative=True).lower == 0.0


def test_a_value_that_never_changes_has_no_signals_and_no_division_by_zero() -> None:
    values = np.full(6, 2.0)
    assert not baseline_of(values).scores(values).any()


def test_two_values_are_too_few_for_limits() -> None:
    with pytest.raises(ValueError, match="at least 3 for control limits, got 2"):
        baseline_of(np.array([1.0, 2.0]))


def test_points_beyond_three_sigma_are_as_rare_as_the_normal_distribution_says() -> None:
    """0.0027 of 200 000 points: standard deviation of the share 1.16e-4, four of them."""
    values = np.random.default_rng(22).normal(5.0, 2.0, 200_000)
    share = np.mean(abs(baseline_of(values).scores(values)) > 3.0)
    assert share == pytest.approx(2.0 * norm.cdf(-3.0), abs=4.7e-4)


def _first(signals: np.ndarray) -> int:
    """Run length to the first signal; 6000 points are twelve mean run lengths, so none is ever missing."""
    return int(signals[0]) + 1
