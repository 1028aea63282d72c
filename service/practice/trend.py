"""One metric over a person's boards: run chart, control chart, signals and drift, and the dict a page draws from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.practice.columns import Columns, columns_of
from service.practice.control_chart import FEWEST, Baseline, baseline_of, moving_ranges
from service.practice.drift import Cusum, Ewma, ewma, standard_cusum
from service.practice.entries import COVERAGE, PracticeBoard
from service.practice.run_chart import RunChart, run_chart
from service.practice.say import period_name
from service.practice.series import METRICS, Metric, Series, series_of
from service.practice.signals import Recurrence, Signal, find_signals, recurrences

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Trend:
    """A series and what its charts say. All but the series and the run chart are None or empty below three boards."""

    series: Series
    run: RunChart | None = None
    baseline: Baseline | None = None
    ewma: Ewma | None = None
    cusum: Cusum | None = None
    signals: tuple[Signal, ...] = ()

    @property
    def metric(self) -> Metric:
        """What is charted."""
        return self.series.metric

    @property
    def drifting(self) -> bool:
        """Whether the moving average is outside its limits at the last board."""
        return self.ewma is not None and len(self.series.values) - 1 in self.ewma.signals

    def told(self) -> list[tuple[Recurrence, bool | None]]:
        """The signals, repetitions told as one, the latest first, each with whether it tells of something better."""
        return [(one, is_good(one.latest, self.metric)) for one in recurrences(self.signals)]

    def days_of(self, signals: Recurrence | Signal) -> str:
        """The days of the boards that they rest on, from the first to the last."""
        return period_name(self.series.dates[signals.first], self.series.dates[signals.last])

    def judged_points(self) -> dict[int, bool | None]:
        """Whether the signals that a point is part of tell of something better, by its index; the worst word counts."""
        found: dict[int, bool | None] = {}
        for signal in self.signals:
            good = is_good(signal, self.metric)
            for index in range(signal.first, signal.last + 1):
                found[index] = min(found.get(index, good), good, key=_FROM_WORST.index)
        return found

    def sentences(self) -> list[str]:
        """What the charts say, in plain words: dated signals, the latest first, then drift and runs."""
        said = [f"{self.days_of(one)}{one.times}: {one.latest.sentence}" for one in recurrences(self.signals)]
        said += ["The moving average has left its limits: a slow drift."] if self.drifting else []
        said += [self.run.sentence] if self.run and (self.run.signal or not said) else []
        return [*said, _PROVISIONAL] if self.baseline and self.baseline.provisional else said

    def to_chart(self) -> dict[str, Any]:
        """Everything a page needs to draw the charts: columns of points, limits, signals and sentences."""
        metric = self.metric
        return {
            "metric": metric.name,
            "title": metric.title,
            "unit": metric.unit,
            "good": metric.good,
            "explanation": metric.explanation,
            "points": _points(self.series),
            "run": self.run.to_dict() if self.run else None,
            "limits": _limits(self.baseline) if self.baseline else None,
            "moving_range": _ranges(self.series, self.baseline) if self.baseline else None,
            "ewma": _ewma(self.ewma, self.baseline) if self.ewma and self.baseline else None,
            "cusum": _cusum(self.cusum) if self.cusum else None,
            "signals": [{**signal.to_dict(), "good": is_good(signal, metric)} for signal in self.signals],
            "sentences": self.sentences(),
        }


_FROM_WORST = (False, None, True)
_PROVISIONAL = "The limits rest on few boards and will still move."


def trend_of(series: Series, *, baseline: int | None = None) -> Trend:
    """The trend of a series; limits from its first `baseline` boards (default: all). Raises ValueError below three."""
    values, metric = series.values, series.metric
    if len(values) < FEWEST:
        return Trend(series, run_chart(values) if len(values) else None)
    usual = baseline_of(values[:baseline], power=metric.power, never_negative=metric.never_negative)
    charted = usual.charted(values)
    return Trend(
        series,
        run_chart(values),
        usual,
        ewma(charted, usual.centre, usual.sigma),
        standard_cusum(charted, usual.centre, usual.sigma),
        tuple(find_signals(usual.scores(values))),
    )


def all_trends(boards: Sequence[PracticeBoard] | Columns) -> dict[str, Trend]:
    """The trend of every metric, by its name; limits from all boards that have the metric."""
    columns = boards if isinstance(boards, Columns) else columns_of(boards)
    return {name: trend_of(series_of(columns, metric)) for name, metric in METRICS.items()}


def is_good(signal: Signal, metric: Metric) -> bool | None:
    """Whether a signal tells of something better (True), worse (False), or neither."""
    return signal.side < 0 if metric.good == "smaller" else None


def _points(series: Series) -> dict[str, list[Any]]:
    return {
        "date": [date.isoformat() for date in series.dates],
        "board": list(series.identities),
        "value": series.values.tolist(),
        "u95": (COVERAGE * series.u).tolist(),
    }


def _limits(baseline: Baseline) -> dict[str, Any]:
    levels = {f"{sign}{n}": baseline.level(float(f"{sign}{n}")) for sign in "+-" for n in (1, 2)}
    return {
        "centre": baseline.level(0.0),
        "upper": baseline.upper,
        "lower": baseline.lower,
        "zones": levels,
        "boards": baseline.count,
        "provisional": baseline.provisional,
    }


def _ranges(series: Series, baseline: Baseline) -> dict[str, Any]:
    """On the charted scale, which is the metric's own but for waiting times."""
    values = moving_ranges(baseline.charted(series.values))
    return {
        "value": values.tolist(),
        "centre": baseline.mean_range,
        "upper": baseline.range_upper,
        "signals": np.flatnonzero(values > baseline.range_upper).tolist(),
    }


def _ewma(average: Ewma, baseline: Baseline) -> dict[str, Any]:
    edges = (average.target + average.half_widths, average.target - average.half_widths)
    upper, lower = (baseline.uncharted(edge).tolist() for edge in edges)
    return {
        "value": baseline.uncharted(average.averages).tolist(),
        "upper": upper,
        "lower": lower,
        "signals": average.signals.tolist(),
    }


def _cusum(sums: Cusum) -> dict[str, Any]:
    return {
        "upper": sums.upper.tolist(),
        "lower": sums.lower.tolist(),
        "decision": sums.decision,
        "signals": sums.signals.tolist(),
    }
