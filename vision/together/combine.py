"""Several measurements of the same numbers made one, and held against each other, by their covariances.

Every measurement is a list of quantities whose parts name their sources; sources of one name are one error. Their joint
covariance is then known. Measurements are held against the best linear unbiased estimate from all numbers of all of
them (`adjustment`). What is reported of them is more cautious: each number's own mean, by weights that none of them
has below zero. The best estimate explains whatever does not fit by the largest error that all have in common, and
may then lie outside of them all (Peelle's pertinent puzzle; R. W. Peelle, Oak Ridge 1987, from memory).

Either is a sum of the measurements: its parts keep their names, so that what the measurements share stays in it and
what is each one's own falls.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.parts import parts_of, quantity_of, sources_of, values_of
from calibration.quantity import Quantity, Source
from vision.together.adjustment import best_weights, covariance_of

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Stack:
    """Measurements of the same m numbers: `values` (n, m) and `parts` (n, m, sources) over the common `sources`."""

    values: Floats
    parts: Floats
    sources: tuple[Source, ...]
    unit: str

    @classmethod
    def of(cls, measurements: Sequence[Sequence[Quantity]]) -> Stack:
        """The stack of lists of quantities. Raises ValueError unless all lists are as long and in one unit."""
        units = {quantity.unit for numbers in measurements for quantity in numbers}
        if len({len(numbers) for numbers in measurements}) != 1 or len(units) != 1:
            raise ValueError("measurements must hold equally many quantities, all in one unit")
        every = [each for numbers in measurements for each in numbers]
        sources, shape = sources_of(every), (len(measurements), len(measurements[0]))
        parts = parts_of(every, sources).reshape(*shape, len(sources))
        return cls(values_of(every).reshape(shape), parts, sources, units.pop())

    def only(self, rows: Sequence[int]) -> Stack:
        """The stack of some of its measurements."""
        return Stack(self.values[list(rows)], self.parts[list(rows)], self.sources, self.unit)

    @property
    def covariance(self) -> Floats:
        """Joint covariance (n m, n m), measurement by measurement."""
        return covariance_of(self.parts.reshape(self.values.size, -1))

    @property
    def gain(self) -> Floats:
        """The estimate's weights (m, n m): they add up to one for every number."""
        count, numbers = self.values.shape
        return best_weights(np.tile(np.eye(numbers), (count, 1)), self.covariance)

    def estimate(self) -> tuple[Floats, Floats]:
        """The best values (m,) and their parts (m, sources)."""
        gain = self.gain
        return gain @ self.values.ravel(), gain @ self.parts.reshape(self.values.size, -1)

    def scatter(self) -> Deviation:
        """How far the measurements lie from their estimate, all together."""
        values, _ = self.estimate()
        rest = (self.values - values).ravel()
        chi_square = float(rest @ np.linalg.solve(self.covariance, rest))
        return Deviation(chi_square, self.values.size - len(values))

    def difference(self, row: int) -> tuple[Floats, Floats]:
        """One measurement less the estimate from all others: values (m,) and parts (m, sources)."""
        rest = self.only([other for other in range(len(self.values)) if other != row])
        values, parts = rest.estimate()
        return self.values[row] - values, self.parts[row] - parts


@dataclass(frozen=True)
class Deviation:
    """A chi-square and its degrees of freedom."""

    chi_square: float
    freedom: int

    @property
    def probability(self) -> float:
        """Chance of a chi-square at least as large, were all uncertainties as stated.

        The finite sums of Abramowitz, M., Stegun, I. A., Handbook of Mathematical Functions, 26.4.4 and 26.4.5.
        """
        half, odd = self.chi_square / 2.0, self.freedom % 2
        root = math.sqrt(half)
        total = math.erfc(root) if odd else 0.0
        term = 2.0 * root / math.sqrt(math.pi) * math.exp(-half) if odd else math.exp(-half)
        for step in range(1, self.freedom // 2 + 1):
            total += term
            term *= half / (step + 0.5 * odd)
        return min(total, 1.0) if self.freedom else 1.0


def deviation(values: Floats, parts: Floats) -> Deviation:
    """How far `values` (m,) lie from zero by the covariance that their `parts` (m, sources) make."""
    return Deviation(float(values @ np.linalg.solve(covariance_of(parts), values)), len(values))


def combined(measurements: Sequence[Sequence[Quantity]]) -> list[Quantity]:
    """Every number's mean over several measurements of all of them."""
    return [mean_of(seen) for seen in zip(*measurements, strict=True)]


def mean_of(seen: Sequence[Quantity]) -> Quantity:
    """The least uncertain mean of one number's measurements, which lies between them: no weight is below zero.

    Raises ValueError when their units differ.
    """
    stack = Stack.of([[each] for each in seen])
    weights = least_uncertain(stack.covariance)
    return quantity_of(float(weights @ stack.values[:, 0]), weights @ stack.parts[:, 0], stack.sources, stack.unit)


def least_uncertain(covariance: Floats) -> Floats:
    """Weights (n,), zero or more and one together, of the least w' C w for a `covariance` (n, n).

    The least of w' C w / 2 - sum(w) over weights that are not below zero has, but for its sum, the same conditions
    (Karush, Kuhn and Tucker); with C = L L' that is a problem of nonnegative least squares.
    """
    from scipy.optimize import nnls  # half a tenth of a second, and only where there are several photos

    root = np.linalg.cholesky(covariance)
    weights, _ = nnls(root.T, np.linalg.solve(root, np.ones(len(covariance))))
    return np.asarray(weights / weights.sum())
