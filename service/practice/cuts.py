"""Practice cuts from board to board: their mean lean and their scatter, as series for the charts of every other number.

Scatter from board to board holds what a handful of cuts leaves open of a sawyer; what is added to it is the
measurement's own uncertainty alone, as for walls (`series`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from service.domain.practice_cuts import CutFigures, LoggedCuts
from service.practice.progress import Progress, progress_of
from service.practice.series import Metric, Series
from service.practice.trend import Trend, trend_of

CUTS_LEAN = Metric(
    "cuts_lean",
    "Practice cuts: mean lean off what was meant",
    "deg",
    "nearer zero",
    "Which way your practice cuts lean beside what you meant, all cuts of a board taken together.",
)
CUTS_SCATTER = Metric(
    "cuts_scatter",
    "Practice cuts: standard deviation",
    "deg",
    "smaller",
    "How much one practice cut differs from the next.",
    never_negative=True,
)
CUTS_METRICS: Mapping[str, Metric] = {metric.name: metric for metric in (CUTS_LEAN, CUTS_SCATTER)}
_MEASURES: Mapping[str, Callable[[CutFigures], tuple[float, float]]] = {
    "cuts_lean": lambda figures: (figures.mean_deg, figures.mean_u_deg),
    "cuts_scatter": lambda figures: (figures.sd_deg, figures.sd_u_deg),
}


def cuts_series(log: Sequence[LoggedCuts], metric: Metric) -> Series:
    """The metric for every board, oldest first, that has cuts enough for it."""
    measured = [(board, *_MEASURES[metric.name](board.figures)) for board in log]
    have = [(board, value, u) for board, value, u in measured if np.isfinite(value)]
    dates, identities = tuple(board.date for board, _, _ in have), tuple(board.identity for board, _, _ in have)
    numbers = np.array([(value, u) for _, value, u in have], float).reshape(-1, 2)
    return Series(metric, dates, identities, numbers[:, 0], numbers[:, 1])


def cuts_trends(log: Sequence[LoggedCuts]) -> dict[str, Trend]:
    """The trend of both, by name."""
    return {name: trend_of(cuts_series(log, metric)) for name, metric in CUTS_METRICS.items()}


def cuts_progress(log: Sequence[LoggedCuts]) -> list[Progress]:
    """Whether either gets better, judged together."""
    return [progress_of(cuts_series(log, metric), comparisons=len(CUTS_METRICS)) for metric in CUTS_METRICS.values()]
