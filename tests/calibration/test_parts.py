"""Quantities as a matrix of parts over their common sources, and back."""

from __future__ import annotations

import numpy as np

from calibration.parts import parts_of, quantity_of, sources_of, values_of
from calibration.quantity import Quantity, Source, combine

A, B, C = Source("a"), Source("b", "1"), Source("b", "2")
ONE, OTHER = Quantity(3.0, {B: 0.2, A: -0.1}), Quantity(5.0, {C: 0.4, A: 0.3}, "deg")


def test_a_quantity_goes_into_a_row_and_comes_back() -> None:
    sources = sources_of([ONE, OTHER])
    assert sources == (A, B, C)
    rows = zip(values_of([ONE, OTHER]), parts_of([ONE, OTHER], sources), ("mm", "deg"), strict=True)
    assert [quantity_of(value, row, sources, unit) for value, row, unit in rows] == [ONE, OTHER]


def test_a_part_of_zero_is_none() -> None:
    assert quantity_of(1.0, np.array([0.0, 0.5]), (A, B), "mm") == Quantity(1.0, {B: 0.5})


def test_rows_times_rows_are_the_covariance() -> None:
    quantities = [ONE, Quantity(1.0, {A: 0.7})]
    parts = parts_of(quantities, sources_of(quantities))
    total = combine([(1.0, each) for each in quantities])
    np.testing.assert_allclose((parts @ parts.T).sum(), total.u**2, rtol=1e-12)


def test_quantities_without_sources_have_rows_without_columns() -> None:
    assert parts_of([Quantity(1.0), Quantity(2.0)], ()).shape == (2, 0)
    assert parts_of([], (A,)).shape == (0, 1)
