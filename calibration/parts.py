"""Quantities as a matrix of parts over their common sources, and back: what linear algebra on many of them needs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity, Source

Floats = NDArray[np.float64]


def sources_of(quantities: Sequence[Quantity]) -> tuple[Source, ...]:
    """All sources of the quantities, each once, in a fixed order."""
    return tuple(sorted({source for quantity in quantities for source in quantity.parts}))


def parts_of(quantities: Sequence[Quantity], sources: Sequence[Source]) -> Floats:
    """Their parts (quantities, sources), each row in the unit of its quantity: P, whose P P' is their covariance."""
    rows = [[quantity.parts.get(source, 0.0) for source in sources] for quantity in quantities]
    return np.array(rows).reshape(len(quantities), len(sources))


def values_of(quantities: Sequence[Quantity]) -> Floats:
    """Their values (quantities,)."""
    return np.array([quantity.value for quantity in quantities])


def quantity_of(value: float, row: Floats, sources: Sequence[Source], unit: str) -> Quantity:
    """The quantity whose parts stand in a `row` (sources,), in `unit`; a part of zero is none."""
    parts = {source: float(part) for source, part in zip(sources, row, strict=True) if part}
    return Quantity(float(value), parts, unit)
