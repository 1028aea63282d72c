"""The drill's statistics against scipy.stats, NIST's reference data, closed forms and simulated rows of cuts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from calibration.quantity import Quantity, Source
from calibration.study.student import MOST_FREEDOM
from vision.drill.statistics import (
    SAMPLE,
    Fit,
    Spread,
    effective_freedom,
    estimate,
    mean_fit,
    own_u,
)

NORRIS = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"

NUMACC = {
    "NumAcc1": ([10000001.0, 10000003.0, 10000002.0], 10000002.0, 1.0, 1e-15),
    "NumAcc2": ([1.2, *[1.1, 1.3] * 500], 1.2, 0.1, 1e-13),
    "NumAcc3": ([1000000.2, *[1000000.1, 1000000.3] * 500], 1000000.2, 0.1, 1e-8),
    "NumAcc4": ([10000000.2, *[10000000.1, 10000000.3] * 500], 10000000.2, 0.1, 1e-7),
}
"""NIST/ITL StRD, univariate summary statistics: data (they follow a rule), certified mean and standard deviation, and
what a double's 16 digits leave of the latter: 1e-16 times the mean over the deviation, several times over."""


@pytest.mark.parametrize("name", NUMACC)
def test_mean_and_standard_deviation_of_nists_univariate_data(name: str) -> None:
    data, mean, sd, digits = NUMACC[name]
    fit = mean_fit(np.array(data))
    assert fit.coefficients[0] == pytest.approx(mean, rel=1e-14)
    assert fit.sd == pytest.approx(sd, rel=100.0 * digits)


def test_straight_line_through_nists_norris_data() -> None:
    y, x = np.loadtxt(NORRIS, skiprows=60).T
    fit = Fit.of(np.column_stack([np.ones_like(x), x]), y)
    # NIST/ITL StRD, Norris: certified values; a pseudo-inverse keeps 16 digits less those of the condition, about 3.
    assert fit.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    assert fit.standard_error(0) == pytest.approx(0.232818234301152, rel=1e-10)
    assert fit.standard_error(1) == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert (fit.sd, fit.freedom) == pytest.approx((0.884796396144373, 34), rel=1e-10)


def test_the_slopes_test_is_scipys() -> None:
    turns = np.arange(1.0, 8.0)
    leans = np.array([0.1, 0.3, 0.2, 0.6, 0.4, 0.7, 0.5])
    fit = Fit.of(np.column_stack([np.ones(7), turns - turns.mean()]), leans)
    slope = estimate(fit.weights[1], [Quantity(lean, {}, "deg") for lean in leans], fit.sd, fit.freedom)
    expected = scipy.stats.linregress(turns, leans)
    assert slope.value == pytest.approx(expected.slope, rel=1e-12)
    assert slope.quantity.u == pytest.approx(expected.stderr, rel=1e-12)
    assert slope.p_value == pytest.approx(expected.pvalue, rel=1e-9)


def test_the_means_test_is_scipys() -> None:
    leans = np.array([0.1, 0.5, 0.2, 0.6, -0.1])
    fit = mean_fit(leans)
    mean = estimate(fit.weights[0], [Quantity(lean, {}, "deg") for lean in leans], fit.sd, fit.freedom)
    expected = scipy.stats.ttest_1samp(leans, 0.0)
    assert mean.p_value == pytest.approx(expected.pvalue, rel=1e-9)
    low, high = expected.confidence_interval(0.95)
    assert (mean.value - mean.u95, mean.value + mean.u95) == pytest.approx((low, high), rel=1e-9)


def test_columns_that_say_the_same_are_refused() -> None:
    with pytest.raises(ValueError, match="columns must be independent"):
        Fit.of(np.ones((4, 2)), np.arange(4.0))


CARD = Source("card tilt", "across the thickness")


def cuts_with_shared_error(leans: np.ndarray, shared: np.ndarray, own: float) -> list[Quantity]:
    names = [Source("wall edge direction", f"tail {index} left") for index in range(len(leans))]
    rows = zip(leans, shared, names, strict=True)
    return [Quantity(lean, {CARD: part, name: own}, "deg") for lean, part, name in rows]


def test_what_all_cuts_share_stands_in_the_mean_in_full_and_cancels_in_a_difference() -> None:
    cuts = cuts_with_shared_error(np.array([0.1, 0.3, 0.2, 0.4]), np.full(4, 0.2), 0.01)
    mean = estimate([0.25] * 4, cuts, 0.1, 3.0)
    difference = estimate([0.5, -0.5, 0.5, -0.5], cuts, 0.1, 3.0)
    assert mean.quantity.parts[CARD] == pytest.approx(0.2, rel=1e-12)
    assert difference.quantity.parts[CARD] == pytest.approx(0.0, abs=1e-15)
    assert mean.quantity.u == pytest.approx(np.hypot(0.2, 0.1 / 2.0), rel=1e-12)


def test_a_scatter_smaller_than_the_measurements_by_chance_counts_as_the_measurements() -> None:
    cuts = cuts_with_shared_error(np.zeros(4), np.zeros(4), 0.04)
    assert own_u(cuts[0]) == pytest.approx(0.04, rel=1e-12)
    assert estimate([0.25] * 4, cuts, 0.0, 3.0).quantity.parts[SAMPLE] == pytest.approx(0.02, rel=1e-12)


def test_effective_freedom_is_that_of_welch_and_satterthwaite() -> None:
    assert effective_freedom(0.3, 0.3, 5.0) == 5.0
    # JCGM 100:2008, G.4.1: u**4 / (sample**4 / freedom), and u squared is twice sample squared here.
    assert effective_freedom(np.sqrt(2.0) * 0.3, 0.3, 5.0) == pytest.approx(20.0, rel=1e-12)
    assert effective_freedom(0.3, 0.0, 5.0) == MOST_FREEDOM


def test_the_sawyers_own_spread_is_what_measuring_leaves() -> None:
    spread = Spread(0.5, 9.0, noise=0.3)
    assert spread.own() == pytest.approx(0.4, rel=1e-12)
    assert Spread(0.2, 9.0, noise=0.3).own() == 0.0
    low, high = spread.interval()
    assert spread.own_interval() == pytest.approx((np.sqrt(low**2 - 0.09), np.sqrt(high**2 - 0.09)), rel=1e-12)


def test_intervals_hold_the_truth_as_often_as_they_claim() -> None:
    """Rows of six cuts by one sawyer (bias 0.3, spread 0.4 degrees), in photos whose card errs by 0.2 degrees."""
    rng, rows = np.random.default_rng(5), 4000
    inside = np.zeros(2)
    for _ in range(rows):
        leans = 0.3 + rng.normal(0.0, 0.4, 6) + rng.normal(0.0, 0.2) + rng.normal(0.0, 0.05, 6)
        fit = mean_fit(leans)
        mean = estimate(fit.weights[0], cuts_with_shared_error(leans, np.full(6, 0.2), 0.05), fit.sd, fit.freedom)
        low, high = Spread(fit.sd, fit.freedom, 0.05).own_interval()
        inside += (abs(mean.value - 0.3) <= mean.u95, low <= 0.4 <= high)
    # 95 % claimed; 4000 rows know a share to 0.35 %, three of which are allowed. Effective degrees of freedom are an
    # approximation and err to the cautious side by up to 2 % here.
    assert 0.94 <= inside[0] / rows <= 0.98
    assert inside[1] / rows == pytest.approx(0.95, abs=0.0105)
