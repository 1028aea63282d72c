"""Analysis of variance with random factors, balanced or not: how much of the scatter comes from where.

The factors are fitted one after the other. Each takes its own share of the sum of squares, whose expectation is an
exact linear function of the variances sought, so that equating the two gives unbiased estimates from any counts:
Henderson's method 3, "fitting constants" (Henderson 1953, Biometrics 9, 226-252; Searle, Casella and McCulloch,
"Variance Components", 1992, chapter 5; from memory). With equal counts it is the textbook table of mean squares.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ERROR = "error"
"""Name of the last row: what no factor explains."""

_RANK_TOLERANCE = 1e-8
"""Directions shorter than this, of indicator columns of length one and more, are rounding."""

_ROUNDING_SPACINGS = 8.0
"""Floating-point spacings of the largest value by which a sum over few values may be off."""


class ConfoundedError(ValueError):
    """A factor, named by `factor`, cannot be told apart from those before it (or from the error) in these data."""

    def __init__(self, factor: str) -> None:
        super().__init__(f"{factor} cannot be told apart from the factors before it in these data")
        self.factor = factor


@dataclass(frozen=True)
class Row:
    """One line of the table. `f`, `f_dof` and `p` test whether the factor's variance is zero; None for the error and
    where no denominator can be formed. `f_dof` belongs to the denominator and is Satterthwaite's."""

    name: str
    dof: int
    sum_squares: float
    f: float | None = None
    f_dof: float | None = None
    p: float | None = None

    @property
    def mean_square(self) -> float:
        """Sum of squares per degree of freedom."""
        return self.sum_squares / self.dof


@dataclass(frozen=True)
class Variance:
    """An estimated variance and its effective degrees of freedom (0 where the estimate is zero)."""

    value: float
    dof: float


@dataclass(frozen=True)
class Anova:
    """The table; `solution` (rows, rows) turns mean squares into the variances of the same names."""

    rows: tuple[Row, ...]
    solution: Floats

    @property
    def mean_squares(self) -> Floats:
        """(rows,) mean squares, the error's last."""
        return np.array([row.mean_square for row in self.rows])

    def row(self, name: str) -> Row:
        """The line of a factor. Raises KeyError for one that is not in the table."""
        return self.rows[self._index(name)]

    def raw_variance(self, name: str) -> float:
        """The unbiased estimate of one variance, which may come out negative. Raises KeyError for another name."""
        return float(self.solution[self._index(name)] @ self.mean_squares)

    def variance(self, *names: str) -> Variance:
        """The sum of the named variances; names that are not in the table and negative estimates count as zero."""
        known = [row.name for row in self.rows if row.name in names and self.raw_variance(row.name) > 0.0]
        weights = sum((self.solution[self._index(name)] for name in known), np.zeros(len(self.rows)))
        return _satterthwaite(weights, self.rows)

    def _index(self, name: str) -> int:
        try:
            return [row.name for row in self.rows].index(name)
        except ValueError:
            raise KeyError(name) from None


def random_effects_anova(values: Sequence[float], factors: Mapping[str, Sequence[Hashable]]) -> Anova:
    """The table of `values` (n,) by `factors`, each with a label for every value, fitted in the order given.

    Raises ValueError when the lengths differ, ConfoundedError when a factor or the error is left without a degree of
    freedom.
    """
    y = _centred(values)
    columns = {name: _indicator(labels) for name, labels in factors.items()}
    if any(len(column) != len(y) for column in columns.values()):
        raise ValueError("every factor must have one label for each value")
    spaces = _spaces(columns, len(y))
    least = len(y) * (_ROUNDING_SPACINGS * np.spacing(np.abs(values).max())) ** 2
    rows = [Row(name, space.shape[1], _squares(space.T @ y, least)) for name, space in spaces.items()]
    error = Row(ERROR, len(y) - 1 - sum(row.dof for row in rows), _squares(_left_over(y, spaces), least))
    if error.dof < 1:
        raise ConfoundedError(ERROR)
    return _tested((*rows, error), _expectations(spaces, columns))


def _centred(values: Sequence[float]) -> Floats:
    """About the mean, in two steps: differences of near values are exact in floating point, their sum is not."""
    y = np.asarray(values, float)
    y = y - y[0]
    return np.asarray(y - y.mean())


def _indicator(labels: Sequence[Hashable]) -> Floats:
    """(n, levels): one where a value has the level's label."""
    levels = {label: index for index, label in enumerate(dict.fromkeys(labels))}
    return np.eye(len(levels))[[levels[label] for label in labels]]


def _spaces(columns: Mapping[str, Floats], count: int) -> dict[str, Floats]:
    """Orthonormal directions (n, dof) that each factor adds to those before it. Raises ConfoundedError for none."""
    fitted = np.full((count, 1), count**-0.5)
    spaces = {}
    for name, column in columns.items():
        spaces[name] = _new_directions(column, fitted)
        if not spaces[name].shape[1]:
            raise ConfoundedError(name)
        fitted = np.hstack([fitted, spaces[name]])
    return spaces


def _new_directions(column: Floats, fitted: Floats) -> Floats:
    rest = column - fitted @ (fitted.T @ column)
    directions, lengths, _ = np.linalg.svd(rest, full_matrices=False)
    return np.asarray(directions[:, lengths > _RANK_TOLERANCE])


def _left_over(y: Floats, spaces: Mapping[str, Floats]) -> Floats:
    """(n,) what no factor explains."""
    for space in spaces.values():
        y = y - space @ (space.T @ y)
    return y


def _squares(parts: Floats, least: float) -> float:
    """Their sum of squares; none where it is no more than rounding."""
    total = float(parts @ parts)
    return total if total > least else 0.0


def _expectations(spaces: Mapping[str, Floats], columns: Mapping[str, Floats]) -> Floats:
    """(rows, rows): the expected mean square of each row as a sum over the variances, the error's last.

    E[y' P y] = sum_j var_j trace(Z_j' P Z_j) for y = sum_j Z_j b_j + e; a factor already fitted has left no trace.
    """
    table = np.eye(len(columns) + 1)
    table[:, -1] = 1.0
    for i, space in enumerate(spaces.values()):
        for j, column in list(enumerate(columns.values()))[i:]:
            table[i, j] = np.sum((space.T @ column) ** 2) / space.shape[1]
    return table


def _tested(rows: tuple[Row, ...], expectations: Floats) -> Anova:
    solution = np.asarray(np.linalg.inv(expectations), float)
    tested = [_with_test(index, rows, expectations, solution) for index in range(len(rows) - 1)]
    return Anova((*tested, rows[-1]), solution)


def _with_test(index: int, rows: tuple[Row, ...], expectations: Floats, solution: Floats) -> Row:
    """F against the combination of later mean squares that has the same expectation when this variance is zero."""
    row = rows[index]
    weights = expectations[index, index + 1 :] @ solution[index + 1 :]
    below = _satterthwaite(weights, rows)
    if below.value <= 0.0:
        return row
    f = row.mean_square / below.value
    return Row(row.name, row.dof, row.sum_squares, f, below.dof, _p_value(f, row.dof, below.dof))


def _satterthwaite(weights: Floats, rows: Sequence[Row]) -> Variance:
    """The weighted sum of mean squares and its effective degrees of freedom (JCGM 100:2008, eq. G.2b)."""
    terms = weights * np.array([row.mean_square for row in rows])
    value = float(terms.sum())
    spread = float(np.sum(terms**2 / np.array([row.dof for row in rows])))
    return Variance(value, value**2 / spread if spread > 0.0 else 0.0)


def _p_value(f: float, dof: float, f_dof: float) -> float:
    """Probability of an F at least as large by chance."""
    from scipy.special import fdtrc

    return float(fdtrc(dof, f_dof, f))
