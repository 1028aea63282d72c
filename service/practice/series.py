"""What the log follows from board to board: one number each, with its uncertainty, defined once in `METRICS`.

The walls of a photo share errors (datum, card, lens), and the result does not say how much of each. So every board's
number carries an uncertainty that holds whatever is shared: that of a mean is the mean of the walls' uncertainties
(exact where all is shared, too large otherwise). The same bound holds for mean sizes and for the spread, since
| |a + e| - |a| | <= |e| for numbers and, by the triangle inequality, for standard deviations.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.practice.columns import Columns

Floats = NDArray[np.float64]
Good = Literal["smaller", "nearer zero", "neither"]
Unit = Literal["deg", "mm", "d"]

T_CHART_POWER = 1 / 3.6
"""Makes waiting times nearly normal: Nelson (1994), Journal of Quality Technology 26, for the chart of times between
events (from memory)."""


@dataclass(frozen=True)
class Metric:
    """A number per board. `power` is what makes it nearly normal for a chart; `never_negative` ends limits at zero."""

    name: str
    title: str
    unit: Unit
    good: Good
    explanation: str
    never_negative: bool = False
    power: float = 1.0


@dataclass(frozen=True, eq=False)
class Series:
    """One metric over the boards: (n,) values and standard uncertainties, and each point's date and board."""

    metric: Metric
    dates: tuple[dt.date, ...]
    identities: tuple[str, ...]
    values: Floats
    u: Floats

    def __post_init__(self) -> None:
        if not len(self.dates) == len(self.identities) == len(self.values) == len(self.u):
            raise ValueError("dates, identities, values and u must be of one length")

    def part(self, start: int, stop: int) -> Series:
        """The points from index `start` up to, not including, `stop`."""
        cut = slice(start, stop)
        return Series(self.metric, self.dates[cut], self.identities[cut], self.values[cut], self.u[cut])


LEAN = Metric("lean", "Lean, mean of the walls", "deg", "nearer zero", "Which way your walls lean, all taken together.")
ABS_LEAN = Metric(
    "abs_lean", "Lean, mean size", "deg", "smaller", "How far from square your walls are, whichever way.", True
)
OUT_OF_SQUARE = Metric(
    "out_of_square", "Out of square, mean size", "mm", "smaller", "What the lean amounts to over the thickness.", True
)
TAPER = Metric(
    "taper", "Taper, mean of the sockets", "mm", "nearer zero", "Above zero the sockets are loose, below it tight."
)
ABS_TAPER = Metric("abs_taper", "Taper, mean size", "mm", "smaller", "How far from parallel your sockets are.", True)
SPREAD = Metric(
    "spread", "Spread of lean within a board", "deg", "smaller", "How much one wall differs from the next.", True
)
DAYS_BETWEEN = Metric(
    "days_between", "Days since the board before", "d", "neither", "How often you practise.", True, T_CHART_POWER
)
METRICS: Mapping[str, Metric] = {
    metric.name: metric for metric in (LEAN, ABS_LEAN, OUT_OF_SQUARE, TAPER, ABS_TAPER, SPREAD, DAYS_BETWEEN)
}


def series_of(columns: Columns, metric: Metric) -> Series:
    """The metric for every board that has it (boards without sockets have no taper, the first has no board before)."""
    values, u = _MEASURES[metric.name](columns)
    have = np.isfinite(values)
    if have.all():
        return Series(metric, columns.dates, columns.identities, values, u)
    dates = tuple(date for date, has in zip(columns.dates, have, strict=True) if has)
    identities = tuple(identity for identity, has in zip(columns.identities, have, strict=True) if has)
    return Series(metric, dates, identities, values[have], u[have])


def _lean(columns: Columns) -> tuple[Floats, Floats]:
    return columns.mean_per_board(columns.walls.lean_deg), columns.mean_per_board(columns.walls.lean_u_deg)


def _abs_lean(columns: Columns) -> tuple[Floats, Floats]:
    return columns.mean_per_board(abs(columns.walls.lean_deg)), columns.mean_per_board(columns.walls.lean_u_deg)


def _out_of_square(columns: Columns) -> tuple[Floats, Floats]:
    return columns.mean_per_board(abs(columns.walls.out_mm)), columns.mean_per_board(columns.walls.out_u_mm)


def _taper(columns: Columns) -> tuple[Floats, Floats]:
    mean = columns.mean_per_board_of_sockets
    return mean(columns.sockets.taper_mm), mean(columns.sockets.taper_u_mm)


def _abs_taper(columns: Columns) -> tuple[Floats, Floats]:
    mean = columns.mean_per_board_of_sockets
    return mean(abs(columns.sockets.taper_mm)), mean(columns.sockets.taper_u_mm)


def _spread(columns: Columns) -> tuple[Floats, Floats]:
    """Standard deviation (n - 1) of a board's leans about their mean; u is the root mean square of their u."""
    walls = columns.walls
    number = np.bincount(walls.board, minlength=columns.count)
    off = walls.lean_deg - columns.mean_per_board(walls.lean_deg)[walls.board]
    variance = np.bincount(walls.board, off**2, minlength=columns.count) / np.maximum(number - 1, 1)
    return np.sqrt(variance), np.sqrt(columns.mean_per_board(walls.lean_u_deg**2))


def _days_between(columns: Columns) -> tuple[Floats, Floats]:
    days = np.array([date.toordinal() for date in columns.dates], float)
    return np.concatenate([[np.nan], np.diff(days)])[: columns.count], np.zeros(columns.count)


_MEASURES: Mapping[str, Callable[[Columns], tuple[Floats, Floats]]] = {
    "lean": _lean,
    "abs_lean": _abs_lean,
    "out_of_square": _out_of_square,
    "taper": _taper,
    "abs_taper": _abs_taper,
    "spread": _spread,
    "days_between": _days_between,
}
