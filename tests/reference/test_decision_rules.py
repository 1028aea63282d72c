"""The decision rule against published examples and against conformance probability.

Sources: JCGM 106:2012, 7.3.3 (examples 1 and 2, values from memory, probabilities recomputed), Table 1; guard band
w = U (k = 2) as in ISO 14253-1:1998 and ILAC-G8:09/2019; JCGM 101:2008, 9.2.2 (additive model, from memory).
"""

from statistics import NormalDist

import numpy as np
import pytest

from calibration.quantity import Quantity, Source
from vision.joint.decision import decide, from_draws, from_quantity
from vision.joint.settled_fit import draw_quantities

NORMAL = NormalDist()


def measured(value: float, u: float, unit: str) -> Quantity:
    return Quantity(value, {Source("measurement"): u}, unit)


def test_an_upper_limit_met_with_92_percent_probability_is_undecided():
    # JCGM 106, 7.3.3, example 1: breakdown voltage at most -5.40 V, measured -5.47 V with u = 0.05 V.
    assert NORMAL.cdf((-5.40 + 5.47) / 0.05) == pytest.approx(0.92, abs=0.005)  # printed digits
    assert decide(from_quantity(measured(-5.47, 0.05, "V")), -5.40) == "undecided"


def test_a_lower_limit_met_with_99_percent_probability_is_met():
    # JCGM 106, 7.3.3, example 2: strength at least 490 kPa, measured 509.7 kPa with u = 8.6 kPa; mirrored, our limit
    # is an upper one.
    assert NORMAL.cdf((509.7 - 490) / 8.6) == pytest.approx(0.99, abs=0.005)  # printed digits
    assert decide(from_quantity(measured(-509.7, 8.6, "kPa")), -490.0) == "met"


def test_the_acceptance_limit_is_the_limit_less_u():
    # Squareness limit 0.10 mm, u = 0.02 mm: acceptance limit 0.060 mm, rejection limit 0.140 mm.
    decisions = [decide(from_quantity(measured(y, 0.02, "mm")), 0.10) for y in (0.0599, 0.0601, 0.08, 0.1399, 0.1401)]
    assert decisions == ["met", "undecided", "undecided", "undecided", "missed"]


def test_a_firm_decision_is_right_with_at_least_the_probability_of_two_standard_uncertainties():
    for y in np.linspace(-0.2, 0.3, 500):  # no y falls on a limit of the decision, 0.04 or 0.16
        conforms = NORMAL.cdf((0.10 - y) / 0.03)
        decision = decide(from_quantity(measured(float(y), 0.03, "mm")), 0.10)
        assert (decision == "met") == (conforms > NORMAL.cdf(2.0))
        assert (decision == "missed") == (1.0 - conforms > NORMAL.cdf(2.0))


def test_simple_acceptance_would_be_wrong_up_to_half_of_the_time():
    # Negative control: without a guard band a value at the limit is accepted with a conformance probability of 0.5.
    at_limit = measured(0.0999, 0.02, "mm")
    assert NORMAL.cdf((0.10 - at_limit.value) / at_limit.u) == pytest.approx(0.5, abs=0.003)  # 0.005 u from it
    assert decide(from_quantity(at_limit), 0.10) == "undecided"


def test_draws_of_the_additive_model_give_its_95_percent_interval():
    # JCGM 101, 9.2.2: the sum of four standard normals has the 95 % interval [-3.92, 3.92].
    total = Quantity(0.0, {Source("X", f"{number}"): 1.0 for number in range(1, 5)})
    draws = draw_quantities([total], 200_000, np.random.default_rng(101))
    estimate = from_draws(np.array([0.0]), draws)[0]
    # One standard error of such a quantile: 2 sqrt(.025 * .975 / 200000) / 0.0584 = 0.012; four of them.
    assert (estimate.low, estimate.high) == pytest.approx((-3.92, 3.92), abs=0.048)
