"""A number, its unit, and where its uncertainty comes from.

A `Quantity` keeps, for every independent source of error, the signed change of the value that one standard
uncertainty of that source makes (the terms c_i u(x_i) of JCGM 100:2008, 5.1.3). Sums, differences and scalings stay
exact to first order *with* correlation: two walls measured against one datum share the datum's source, and it cancels
in their difference as it should.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

COVERAGE_FACTOR = 2.0
"""k of the expanded uncertainty U = k u: about 95 % for a normal distribution (JCGM 100:2008, 6.3.3)."""


class Source(NamedTuple):
    """One independent source of error: the cause people see in a budget, and which instance of it."""

    cause: str
    instance: str = ""


@dataclass(frozen=True)
class Quantity:
    """A value with its signed standard contributions, `parts[source]`, all in `unit`."""

    value: float
    parts: Mapping[Source, float] = field(default_factory=dict)
    unit: str = "mm"

    @property
    def u(self) -> float:
        """Combined standard uncertainty, in `unit` (JCGM 100:2008, eq. 10: independent sources)."""
        return math.sqrt(sum(part * part for part in self.parts.values()))

    @property
    def u95(self) -> float:
        """Expanded uncertainty U = k u with k = 2, in `unit`."""
        return COVERAGE_FACTOR * self.u

    def __add__(self, other: Quantity | float) -> Quantity:
        if isinstance(other, Quantity):
            return combine([(1.0, self), (1.0, other)])
        return Quantity(self.value + other, self.parts, self.unit)

    def __sub__(self, other: Quantity | float) -> Quantity:
        if isinstance(other, Quantity):
            return combine([(1.0, self), (-1.0, other)])
        return Quantity(self.value - other, self.parts, self.unit)

    def __neg__(self) -> Quantity:
        return self.scaled(-1.0)

    def scaled(self, factor: float, unit: str | None = None) -> Quantity:
        """This quantity times an exact `factor`, in `unit` (unchanged if None)."""
        parts = {source: part * factor for source, part in self.parts.items()}
        return Quantity(self.value * factor, parts, self.unit if unit is None else unit)

    def with_part(self, source: Source, part: float) -> Quantity:
        """This quantity with one more independent contribution, `part` in `unit` (added in quadrature if present)."""
        parts = dict(self.parts)
        parts[source] = math.hypot(parts.get(source, 0.0), part)
        return Quantity(self.value, parts, self.unit)

    def parts_times(self, factor: Callable[[Source], float]) -> Quantity:
        """This quantity with the part of every source `factor(source)` times as large; the value stays."""
        parts = {source: part * factor(source) for source, part in self.parts.items()}
        return Quantity(self.value, parts, self.unit)

    def budget(self) -> list[tuple[str, float]]:
        """(cause, standard contribution in `unit`) for every cause, largest first."""
        by_cause: dict[str, float] = {}
        for source, part in self.parts.items():
            by_cause[source.cause] = math.hypot(by_cause.get(source.cause, 0.0), part)
        return sorted(by_cause.items(), key=lambda item: -item[1])


def combine(terms: Iterable[tuple[float, Quantity]]) -> Quantity:
    """The linear combination sum(factor * quantity), its shared sources added with their signs.

    Raises ValueError when the quantities have different units or there are none.
    """
    terms = list(terms)
    units = {quantity.unit for _, quantity in terms}
    if len(units) != 1:
        raise ValueError(f"quantities to combine must share one unit, got {sorted(units)}")
    parts: dict[Source, float] = {}
    for factor, quantity in terms:
        for source, part in quantity.parts.items():
            parts[source] = parts.get(source, 0.0) + factor * part
    return Quantity(sum(factor * quantity.value for factor, quantity in terms), parts, units.pop())


def angle_of(run: Quantity, rise: float = 1.0) -> Quantity:
    """The angle (deg) that a `run` makes over an exact `rise` in its unit; a slope is its own run over a rise of 1.

    To first order, by the derivative 1 / (1 + t^2) of the arctangent of t = run / rise (JCGM 100:2008, 5.1.3).
    """
    tangent = run.value / rise
    per_run = math.degrees(1.0 / (rise * (1.0 + tangent**2)))
    return Quantity(math.degrees(math.atan(tangent)), run.scaled(per_run).parts, "deg")
