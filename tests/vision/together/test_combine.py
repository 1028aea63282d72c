"""Means and least squares over labelled parts: closed forms, GTC's propagation, Monte Carlo of the whole."""

from __future__ import annotations

import math

import GTC
import numpy as np
import pytest
from scipy.stats import chi2

from calibration.quantity import Quantity, Source
from vision.together.adjustment import ROUNDING
from vision.together.combine import Deviation, Stack, combined, deviation, least_uncertain

PEELLE = ((1.5, "a"), (1.0, "b"))
CLOSE = 1e-4
"""The rounding of 1e-4 that keeps covariances invertible, beside parts of 0.01 and more."""


def single(*measurements: Quantity) -> Quantity:
    return combined([[each] for each in measurements])[0]


def random_stack(seed: int, count: int = 3, numbers: int = 4, sources: int = 12) -> list[list[Quantity]]:
    """Measurements with random parts, some of one name in several of them."""
    rng = np.random.default_rng(seed)
    found = []
    for row in range(count):
        parts = rng.normal(0.0, 0.02, (numbers, sources))
        names = [Source("a", f"{index}" if index % 3 else f"{index} of {row}") for index in range(sources)]
        found.append([Quantity(1.0 + 0.01 * row, dict(zip(names, line.tolist(), strict=True))) for line in parts])
    return found


def test_two_equal_measurements_of_their_own_are_their_mean_and_less_uncertain_by_the_root_of_two() -> None:
    mean = single(Quantity(1.0, {Source("a"): 0.1}), Quantity(1.2, {Source("b"): 0.1}))
    assert mean.value == pytest.approx(1.1)
    assert mean.u == pytest.approx(0.1 / math.sqrt(2.0), rel=CLOSE)


def test_unequal_ones_weigh_by_their_inverse_variances() -> None:
    mean = single(Quantity(1.0, {Source("a"): 0.1}), Quantity(2.0, {Source("b"): 0.2}))
    assert mean.value == pytest.approx((1.0 / 0.01 + 2.0 / 0.04) / (1.0 / 0.01 + 1.0 / 0.04), abs=CLOSE)
    assert mean.u == pytest.approx((1.0 / 0.01 + 1.0 / 0.04) ** -0.5, rel=CLOSE)


def test_what_all_share_stays() -> None:
    mean = single(*(Quantity(1.0, {Source("all"): 0.1, Source(name): 0.05}) for name in "abcd"))
    assert mean.u == pytest.approx(math.hypot(0.1, 0.05 / 2.0), rel=CLOSE)


def test_what_enters_with_both_signs_cancels() -> None:
    mean = single(
        Quantity(1.3, {Source("card"): 0.3, Source("a"): 0.05}),
        Quantity(0.7, {Source("card"): -0.3, Source("b"): 0.05}),
    )
    assert mean.value == pytest.approx(1.0)
    assert mean.u == pytest.approx(0.05 / math.sqrt(2.0), rel=CLOSE)


def test_means_agree_with_the_gum_tree_calculators_propagation_through_the_same_weights() -> None:
    measurements = random_stack(3)
    inputs: dict[Source, GTC.lib.UncertainReal] = {}
    for quantity, seen in zip(combined(measurements), zip(*measurements, strict=True), strict=True):
        weights = least_uncertain(Stack.of([[each] for each in seen]).covariance)
        oracle = 0.0
        for weight, each in zip(weights, seen, strict=True):
            for source, part in each.parts.items():
                oracle = oracle + float(weight) * part * inputs.setdefault(source, GTC.ureal(0.0, 1.0))
            oracle = oracle + float(weight) * each.value
        assert quantity.value == pytest.approx(oracle.x, rel=1e-9)
        assert quantity.u == pytest.approx(GTC.uncertainty(oracle), rel=1e-9)


def test_no_other_mean_is_less_uncertain() -> None:
    rng = np.random.default_rng(4)
    for _ in range(20):
        parts = rng.normal(size=(4, 5)) + rng.normal(size=5)
        covariance = parts @ parts.T + 1e-6 * np.eye(4)
        weights = least_uncertain(covariance)
        assert weights.min() >= 0.0
        assert weights.sum() == pytest.approx(1.0)
        others = rng.dirichlet(np.full(4, 0.5), 2000)
        assert np.all(np.einsum("ki,ij,kj->k", others, covariance, others) >= weights @ covariance @ weights - 1e-9)


def test_where_measurements_contradict_each_other_their_mean_still_lies_between_them() -> None:
    """Peelle's pertinent puzzle: 1.5 and 1.0, 10 % each of their own, 20 % of what they share: 0.88 by least squares.

    R. W. Peelle, informal memorandum, Oak Ridge National Laboratory, 1987; the numbers from memory.
    """
    seen = [Quantity(value, {Source("own", name): 0.1 * value, Source("all"): 0.2 * value}) for value, name in PEELLE]
    best, _ = Stack.of([[each] for each in seen]).estimate()
    assert best[0] == pytest.approx(0.88, abs=0.01)
    assert 1.0 <= single(*seen).value <= 1.5


def test_no_other_unbiased_weights_do_better() -> None:
    stack = Stack.of(random_stack(5))
    count, numbers = stack.values.shape
    best = np.diag(stack.gain @ stack.covariance @ stack.gain.T)
    rng = np.random.default_rng(6)
    for _ in range(50):
        off = rng.normal(0.0, 0.1, (numbers, count, numbers))
        other = stack.gain + (off - off.mean(axis=1, keepdims=True)).reshape(numbers, -1)
        assert np.all(np.diag(other @ stack.covariance @ other.T) >= best - 1e-12)


def test_errors_drawn_by_the_parts_scatter_as_the_result_states() -> None:
    stack = Stack.of(random_stack(8))
    _, parts = stack.estimate()
    rng = np.random.default_rng(9)
    draws = 4000
    errors = stack.parts.reshape(stack.values.size, -1) @ rng.standard_normal((len(stack.sources), draws))
    scatter = (stack.gain @ errors).std(axis=1)
    # 4000 draws know a standard deviation to 1.1 %: four of those.
    np.testing.assert_allclose(scatter, np.linalg.norm(parts, axis=1), rtol=0.045)


def test_chi_square_of_honest_measurements_is_chi_squared() -> None:
    stack = Stack.of(random_stack(10, count=2, numbers=3, sources=30))
    rng = np.random.default_rng(11)
    found = []
    for _ in range(1500):
        values = (stack.parts.reshape(6, -1) @ rng.standard_normal(len(stack.sources))).reshape(2, 3)
        found.append(Stack(values, stack.parts, stack.sources, "mm").scatter())
    assert {each.freedom for each in found} == {3}
    shares = np.array([each.probability for each in found])
    # Uniform: a share p of 1500 is known to sqrt(p (1 - p) / 1500), at most 1.3 %; four of those.
    for level in (0.05, 0.5, 0.95):
        assert np.mean(shares < level) == pytest.approx(level, abs=0.052)


def test_a_pairs_difference_and_its_scatter_tell_the_same() -> None:
    stack = Stack.of(random_stack(12, count=2))
    assert deviation(*stack.difference(0)).chi_square == pytest.approx(stack.scatter().chi_square, rel=0.01)


@pytest.mark.parametrize("freedom", [1, 2, 5, 14, 60])
@pytest.mark.parametrize("chance", [0.5, 0.05, 0.01, 1e-4])
def test_probabilities_are_those_of_the_chi_squared_distribution(freedom: int, chance: float) -> None:
    found = Deviation(float(chi2.isf(chance, freedom)), freedom).probability
    assert found == pytest.approx(chance, rel=1e-9)  # finite sums against scipy's own: rounding alone


def test_nothing_to_compare_is_no_disagreement() -> None:
    assert Deviation(0.0, 0).probability == 1.0


def test_measurements_of_different_numbers_or_units_are_a_mistake() -> None:
    with pytest.raises(ValueError, match="equally many quantities, all in one unit"):
        Stack.of([[Quantity(1.0)], [Quantity(1.0), Quantity(2.0)]])
    with pytest.raises(ValueError, match="equally many quantities, all in one unit"):
        Stack.of([[Quantity(1.0)], [Quantity(1.0, unit="deg")]])


def test_measurements_without_any_error_of_their_own_still_have_a_mean() -> None:
    mean = single(*(Quantity(value, {Source("all"): 0.1}) for value in (1.0, 1.0 + ROUNDING)))
    assert mean.value == pytest.approx(1.0 + ROUNDING / 2.0)
    assert mean.u == pytest.approx(0.1)
