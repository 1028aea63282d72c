"""What numbers become once something about their errors is known, against closed forms and an independent program."""

from __future__ import annotations

import math

import numpy as np
import pytest
from GTC import component, ureal

from calibration.evidence import given, log_likelihood, spread_of_mixture, widened
from calibration.quantity import Quantity, Source

A, B, C = Source("a"), Source("b"), Source("c")


def test_two_measurements_of_one_length_become_their_weighted_mean() -> None:
    seen, told = Quantity(10.0, {A: 0.3}), Quantity(10.5, {B: 0.4})
    (found,) = given([seen], [seen - told])
    # The inverse-variance weighted mean and its uncertainty, exactly.
    weights = np.array([0.3, 0.4]) ** -2.0
    assert found.value == pytest.approx(float(weights @ [10.0, 10.5] / weights.sum()), rel=1e-12)
    assert found.u == pytest.approx(float(weights.sum() ** -0.5), rel=1e-12)


def test_a_number_that_shares_nothing_with_the_evidence_stays_as_it_is() -> None:
    number = Quantity(3.0, {C: 0.2}, "deg")
    (found,) = given([number], [Quantity(1.0, {A: 0.3, B: 0.1})])
    assert (found.value, found.unit) == (3.0, "deg")
    assert found.parts == pytest.approx(dict(number.parts))


def test_no_evidence_changes_nothing() -> None:
    number = Quantity(3.0, {C: 0.2})
    assert given([number], []) == [number]


def test_causes_kept_apart_are_not_read_from_the_evidence() -> None:
    number, evidence = Quantity(3.0, {A: 0.2}), Quantity(1.0, {A: 0.2, B: 0.1})
    (found,) = given([number], [evidence], apart={"a"})
    assert found.value == 3.0
    assert found.u == pytest.approx(0.2, rel=1e-12)


def test_evidence_without_any_uncertainty_is_a_contradiction() -> None:
    with pytest.raises(ValueError, match="without uncertainty"):
        given([Quantity(3.0, {A: 0.2})], [Quantity(1.0, {A: 0.0})])


def test_posterior_is_that_of_normal_draws_weighted_by_the_evidence() -> None:
    """Monte Carlo (JCGM 101): draws of all sources, kept where both pieces of evidence come out as seen."""
    number = Quantity(0.0, {A: 1.0, B: 0.5})
    first, second = Quantity(0.8, {A: 0.7, C: 0.3}), Quantity(-0.4, {B: 0.6, A: 0.2, Source("d"): 0.3})
    (found,) = given([number], [first, second])
    rng = np.random.default_rng(5)
    a, b = rng.standard_normal((2, 1_000_000))
    # Truth = value + parts and the evidence's truth is zero, so its own noise is what is left over.
    left = (first.value + 0.7 * a) / 0.3, (second.value + 0.6 * b + 0.2 * a) / 0.3
    weight = np.exp(-0.5 * (left[0] ** 2 + left[1] ** 2))
    drawn = number.value + a + 0.5 * b
    mean = weight @ drawn / weight.sum()
    sd = math.sqrt(weight @ (drawn - mean) ** 2 / weight.sum())
    # The weights leave some 10^5 effective draws: mean and spread to a third of a percent of the spread; four of those.
    assert found.value == pytest.approx(mean, abs=0.013 * sd)
    assert found.u == pytest.approx(sd, rel=0.013)


def test_parts_add_up_as_the_gum_tree_calculator_has_them() -> None:
    """PyPI `GTC`: a corrected number as an expression of uncertain inputs, gain and all."""
    number, evidence = Quantity(5.0, {A: 0.3, B: 0.1}), Quantity(0.6, {A: 0.2, C: 0.4})
    (found,) = given([number], [evidence])
    a, b, c = (ureal(0.0, 1.0) for _ in range(3))
    gain = 0.3 * 0.2 / (0.2**2 + 0.4**2)
    expected = 5.0 + 0.3 * a + 0.1 * b - gain * (0.6 + 0.2 * a + 0.4 * c)
    assert found.value == pytest.approx(expected.x, rel=1e-12)
    assert found.u == pytest.approx(expected.u, rel=1e-12)
    for source, influence in ((A, a), (B, b), (C, c)):
        assert found.parts[source] == pytest.approx(component(expected, influence) * _sign(found, source), rel=1e-12)


def _sign(quantity: Quantity, source: Source) -> float:
    """GTC's components are magnitudes."""
    return math.copysign(1.0, quantity.parts[source])


def test_log_likelihood_is_the_normal_densitys_but_for_its_constant() -> None:
    one, other = Quantity(0.5, {A: 0.3}), Quantity(-0.2, {B: 0.1})
    for scale in (1.0, 1e-4):
        evidence = [one.scaled(scale), other]
        expected = -0.5 * (0.5 / 0.3) ** 2 - math.log(0.3 * scale) - 0.5 * (0.2 / 0.1) ** 2 - math.log(0.1)
        assert log_likelihood(evidence) == pytest.approx(expected, rel=1e-12)


def test_widening_touches_only_the_sources_it_names() -> None:
    assert widened(Quantity(1.0, {A: 0.1, B: 0.2}), {A: 3.0}).parts == pytest.approx({A: 0.3, B: 0.2})


def test_a_mixture_of_one_kind_is_as_wide_as_that_kind() -> None:
    assert spread_of_mixture(0.0, 10.0) == pytest.approx(1.0, abs=1e-9)
    assert spread_of_mixture(1.0, 10.0) == pytest.approx(10.0, abs=1e-9)


def test_a_mixtures_spread_is_that_of_its_draws() -> None:
    rng = np.random.default_rng(6)
    draws = rng.standard_normal(400_000) * np.where(rng.random(400_000) < 0.2, 10.0, 1.0)
    # The 95th percentile of so many draws is known to 0.7 %: four of those.
    assert spread_of_mixture(0.2, 10.0) == pytest.approx(np.percentile(np.abs(draws), 95) / 1.959964, rel=0.03)
