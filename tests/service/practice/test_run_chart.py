"""Run charts against published limits, exact distributions and simulation."""

from __future__ import annotations

from itertools import groupby
from math import comb

import numpy as np
import pytest
from scipy.stats import binom

from service.practice.run_chart import fewest_crossings, longest_run_limit, run_chart, run_lengths


@pytest.mark.parametrize(("useful", "longest", "crossings"), [(10, 6, 2), (12, 7, 3), (20, 7, 6), (24, 8, 8)])
def test_limits_are_those_of_anhoej_and_olesen(useful: int, longest: int, crossings: int) -> None:
    """round(log2(n) + 3) and the 5 % quantile of the binomial (n - 1, 1/2): their table, from memory."""
    assert (longest_run_limit(useful), fewest_crossings(useful)) == (longest, crossings)


def test_the_fewest_crossings_are_the_binomial_quantile_for_any_length() -> None:
    for useful in range(2, 400):
        assert fewest_crossings(useful) == binom.ppf(0.05, useful - 1, 0.5)


def test_runs_are_counted_as_by_hand() -> None:
    chart = run_chart(np.array([1.0, 2.0, 9.0, 8.0, 5.0, 7.0, 3.0, 1.0, 9.0]))
    assert (chart.median, chart.useful, chart.runs, chart.longest, chart.crossings) == (5.0, 8, 4, 3, 3)


def test_run_lengths_are_those_of_an_independent_count() -> None:
    flags = np.random.default_rng(1).random(500) < 0.4
    assert run_lengths(flags).tolist() == [len(list(group)) for _, group in groupby(flags)]


def test_values_on_the_median_belong_to_no_run() -> None:
    chart = run_chart(np.array([1.0, 5.0, 1.0, 5.0, 9.0, 9.0, 5.0]))
    assert (chart.useful, chart.runs, chart.longest) == (4, 2, 2)


def test_fewer_than_ten_useful_values_give_no_verdict() -> None:
    chart = run_chart(np.arange(9.0))
    assert not chart.long_run
    assert "from 10 on" in chart.sentence


def test_a_shift_of_level_is_a_long_run() -> None:
    chart = run_chart(np.concatenate([np.arange(12) % 3, 10.0 + np.arange(12) % 3]))
    assert chart.long_run
    assert "12 boards in a row" in chart.sentence


def test_a_slow_wander_is_told_by_its_few_crossings() -> None:
    chart = run_chart(np.sin(np.arange(48) / 2.0))
    assert not chart.long_run
    assert chart.few_crossings
    assert "drifting" in chart.sentence


def test_chance_alone_raises_the_crossings_alarm_as_often_as_counting_says() -> None:
    """Twelve values above and twelve below fall in r runs in 2 C(11, k-1)^2 (r = 2k) or 2 C(11, k) C(11, k-1)
    (r = 2k + 1) of C(24, 12) orders (Wald and Wolfowitz 1940). Tolerance: four standard deviations of a share."""
    limit, draws = fewest_crossings(24), 4000
    expected = sum(_orders(runs) for runs in range(2, limit + 1)) / comb(24, 12)
    rng = np.random.default_rng(2)
    share = np.mean([run_chart(rng.standard_normal(24)).few_crossings for _ in range(draws)])
    assert share == pytest.approx(expected, abs=4.0 * np.sqrt(expected * (1.0 - expected) / draws))


def test_no_values_are_refused() -> None:
    with pytest.raises(ValueError, match="must not be empty"):
        run_chart(np.zeros(0))


def _orders(runs: int) -> int:
    k, odd = divmod(runs, 2)
    return 2 * comb(11, k) * comb(11, k - 1) if odd else 2 * comb(11, k - 1) ** 2
