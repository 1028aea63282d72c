"""Firmly met, firmly missed, or neither."""

import numpy as np
import pytest

from calibration.quantity import Quantity, Source
from vision.joint.decision import Estimate, decide, from_draws, from_quantity


def test_a_limit_is_met_or_missed_only_by_more_than_the_uncertainty():
    assert decide(Estimate(0.05, 0.02, 0.08), 0.10) == "met"
    assert decide(Estimate(0.09, 0.06, 0.12), 0.10) == "undecided"
    assert decide(Estimate(0.14, 0.11, 0.17), 0.10) == "missed"


def test_an_interval_that_ends_at_the_limit_decides_nothing():
    assert decide(Estimate(0.08, 0.06, 0.10), 0.10) == "undecided"
    assert decide(Estimate(0.12, 0.10, 0.14), 0.10) == "undecided"


def test_a_quantity_counts_with_twice_its_standard_uncertainty():
    estimate = from_quantity(Quantity(1.0, {Source("edge"): 0.25}))
    assert (estimate.low, estimate.high) == (0.5, 1.5)


def test_draws_give_the_interval_that_leaves_a_fortieth_of_them_out_at_either_end():
    draws = np.random.default_rng(0).permutation(np.arange(2000.0))[None]
    estimate = from_draws(np.array([1000.0]), draws)[0]
    assert (estimate.low, estimate.high) == (50.0, 1949.0)


def test_an_interval_is_widened_to_hold_its_value():
    estimate = from_draws(np.array([-1.0]), np.ones((1, 100)))[0]
    assert (estimate.low, estimate.high) == (-1.0, 1.0)


def test_a_value_outside_its_interval_is_refused():
    with pytest.raises(ValueError, match="must lie within its interval"):
        Estimate(1.0, 2.0, 3.0)
