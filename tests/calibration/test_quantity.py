"""Quantities: shared sources add with their signs, independent ones in quadrature; GTC is the independent oracle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from calibration.quantity import Quantity, Source, angle_of, combine

DATUM, LEFT, RIGHT, SCALE = Source("datum"), Source("edge", "left"), Source("edge", "right"), Source("scale")


def test_independent_sources_add_in_quadrature() -> None:
    total = Quantity(1.0, {LEFT: 0.03}) + Quantity(2.0, {RIGHT: 0.04})
    assert total.value == 3.0
    assert total.u == pytest.approx(0.05, rel=1e-12)
    assert total.u95 == pytest.approx(0.10, rel=1e-12)


def test_a_shared_source_cancels_in_a_difference_and_doubles_in_a_sum() -> None:
    a, b = Quantity(5.0, {DATUM: 0.1}), Quantity(3.0, {DATUM: 0.1})
    assert (a - b).u == 0.0
    assert (a + b).u == pytest.approx(0.2, rel=1e-12)


def test_a_combination_keeps_the_sign_of_every_part_for_what_it_is_combined_with_later() -> None:
    total = combine([(2.0, Quantity(5.0, {DATUM: 0.1, LEFT: 0.3})), (-1.0, Quantity(3.0, {DATUM: 0.5, RIGHT: 0.4}))])
    assert (total.value, total.parts) == (7.0, pytest.approx({DATUM: -0.3, LEFT: 0.6, RIGHT: -0.4}))
    assert (total + Quantity(1.0, {DATUM: 0.3})).u == pytest.approx(math.hypot(0.6, 0.4))


def test_scaling_negating_and_numbers_keep_the_parts() -> None:
    q = Quantity(2.0, {DATUM: 0.1, LEFT: -0.2})
    assert (-q).parts == {DATUM: -0.1, LEFT: 0.2}
    assert (q + 1.0).parts == (q - 1.0).parts == q.parts
    assert (q + 1.0).value - (q - 1.0).value == 2.0
    assert q.scaled(10.0, "um") == Quantity(20.0, {DATUM: 1.0, LEFT: -2.0}, "um")


def test_a_further_part_of_the_same_source_adds_in_quadrature() -> None:
    q = Quantity(1.0, {DATUM: 0.3}).with_part(DATUM, 0.4).with_part(LEFT, 0.1)
    assert q.parts == pytest.approx({DATUM: 0.5, LEFT: 0.1})


def test_the_budget_sums_instances_of_a_cause_and_is_largest_first() -> None:
    q = Quantity(1.0, {LEFT: 0.03, RIGHT: -0.04, DATUM: 0.01, SCALE: 0.2})
    causes, parts = zip(*q.budget(), strict=True)
    assert causes == ("scale", "edge", "datum")
    assert parts == pytest.approx((0.2, 0.05, 0.01))
    assert math.hypot(*parts) == pytest.approx(q.u, rel=1e-12)


def test_different_units_do_not_combine() -> None:
    with pytest.raises(ValueError, match=r"must share one unit, got \['deg', 'mm'\]"):
        combine([(1.0, Quantity(1.0)), (1.0, Quantity(1.0, unit="deg"))])
    with pytest.raises(ValueError, match="must share one unit"):
        combine([])


def test_linear_combinations_agree_with_gtc() -> None:
    gtc = pytest.importorskip("GTC", reason="the independent oracle is optional")
    rng = np.random.default_rng(41)
    sources = [Source("input", str(index)) for index in range(5)]
    inputs = [gtc.ureal(0.0, 1.0) for _ in sources]
    for _ in range(20):
        shares = rng.normal(size=(3, len(sources)))
        values, factors = rng.normal(size=3), rng.normal(size=3)
        ours = combine(
            (float(f), Quantity(float(v), dict(zip(sources, row.tolist(), strict=True))))
            for f, v, row in zip(factors, values, shares, strict=True)
        )
        linear = [sum(c * x for c, x in zip(row, inputs, strict=True)) for row in shares]
        theirs = sum(f * (v + part) for f, v, part in zip(factors, values, linear, strict=True))
        # Both are exact for linear combinations: rounding is all that differs.
        assert ours.value == pytest.approx(gtc.value(theirs), rel=1e-10, abs=1e-12)
        assert ours.u == pytest.approx(gtc.uncertainty(theirs), rel=1e-10)


def test_a_number_without_a_unit_can_be_made_of_one_with() -> None:
    assert Quantity(3.0, {DATUM: 0.1}, "mm").scaled(2.0, "").unit == ""
    assert Quantity(3.0, {DATUM: 0.1}, "mm").scaled(2.0).unit == "mm"


def test_a_slope_of_one_in_six_is_an_angle_of_nine_and_a_half_degrees() -> None:
    angle = angle_of(Quantity(1 / 6, {Source("test"): 0.001}, ""))
    assert angle.value == pytest.approx(9.4623, abs=1e-4)
    assert angle.u == pytest.approx(math.degrees(0.001) / (1 + 1 / 36), rel=1e-9)
    assert angle.unit == "deg"
    assert angle_of(Quantity(4.0, {Source("test"): 0.024}), 24.0).parts == pytest.approx(angle.parts, rel=1e-12)


def test_parts_are_scaled_by_their_source_alone() -> None:
    scaled = Quantity(3.0, {DATUM: 0.1, LEFT: 0.2}).parts_times(lambda source: 3.0 if source == DATUM else 1.0)
    assert (scaled.value, scaled.parts) == (3.0, pytest.approx({DATUM: 0.3, LEFT: 0.2}))
