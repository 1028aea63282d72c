"""Better, worse, or no change that is sure: the first boards of a series against its last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from service.practice.columns import Columns
from service.practice.estimates import COMMON_SHARE, Estimate, difference_estimate, mean_estimate
from service.practice.say import counted, plus_minus
from service.practice.series import ABS_LEAN, ABS_TAPER, OUT_OF_SQUARE, SPREAD, Metric, Series, series_of
from vision.answer.words import Units

Verdict = Literal["better", "worse", "no change", "too few"]
Whose = Literal["your", "their"]

FOLLOWED = (ABS_LEAN, OUT_OF_SQUARE, ABS_TAPER, SPREAD)
"""Of these is said whether they get better: they are judged together."""
MOST, FEWEST = 10, 3
"""Boards in a period: no more, so that it is a period; no fewer, so that it has a scatter."""


@dataclass(frozen=True)
class Progress:
    """A metric's change from the first period to the last. All estimates are None where boards are `too few`.

    For a metric that should be near zero, `change` is that of the mean's size.
    """

    metric: Metric
    verdict: Verdict
    boards: int
    first: Estimate | None = None
    last: Estimate | None = None
    change: Estimate | None = None

    def sentence(self, units: Units = "mm", whose: Whose = "your") -> str:
        """The verdict in words, with its numbers, said to the person or of them."""
        if self.change is None or self.first is None or self.last is None:
            missing = 2 * FEWEST - self.boards
            return f"{self.metric.title}: too few boards to compare yet; {missing} more will do."
        unit = self.metric.unit
        told = [plus_minus(each.value, each.half_width, unit, units) for each in (self.first, self.last)]
        spans = [counted(each.counts[0], "board") for each in (self.first, self.last)]
        return (
            f"{self.metric.title}: {self._verdict_words()}. It was {told[0]} over the first {spans[0]} and is {told[1]}"
            f" over the last {spans[1]}.{self._reason(whose)}"
        )

    def to_dict(self) -> dict[str, Any]:
        """For a page."""
        return {
            "metric": self.metric.name,
            "verdict": self.verdict,
            "sentence": self.sentence(),
            "first": None if self.first is None else [self.first.value, self.first.half_width],
            "last": None if self.last is None else [self.last.value, self.last.half_width],
            "change": None if self.change is None else [self.change.value, self.change.simultaneous],
        }

    def _verdict_words(self) -> str:
        return "no change that is sure" if self.verdict == "no change" else self.verdict

    def _reason(self, whose: Whose) -> str:
        """What stands in the way of a verdict, if anything does."""
        if self.change is None or self.verdict != "no change":
            return ""
        if self.change.measured > 0.5:
            return " Most of the doubt is the measurement's own."
        return f" Most of the doubt comes from how much {whose} boards differ from one another."


def progress_of(series: Series, *, common: float = COMMON_SHARE, comparisons: int = 1) -> Progress:
    """Compare the first half of the boards with the last, ten of either at most.

    A change counts only beyond its 95 % interval, which holds scatter and measurement both, and is widened for the
    number of `comparisons` made together. Raises ValueError for a metric with no better or worse.
    """
    if series.metric.good == "neither":
        raise ValueError(f"{series.metric.name} has no better or worse")
    number = len(series.values)
    if number < 2 * FEWEST:
        return Progress(series.metric, "too few", number)
    length = min(number // 2, MOST)
    return _compared(series.part(0, length), series.part(number - length, number), number, common, comparisons)


def progress_of_all(columns: Columns) -> list[Progress]:
    """Of everything that is followed; lean first."""
    return [progress_of(series_of(columns, metric), comparisons=len(FOLLOWED)) for metric in FOLLOWED]


def _compared(early: Series, late: Series, boards: int, common: float, comparisons: int) -> Progress:
    first, last = (mean_estimate(part.values, part.u, common=common) for part in (early, late))
    raw = difference_estimate(late.values, late.u, early.values, early.u, common=common).among(comparisons)
    change = Estimate(
        _distance(last, early.metric) - _distance(first, early.metric),
        raw.error,
        raw.freedom,
        raw.counts,
        raw.measured,
        comparisons,
    )
    return Progress(early.metric, _verdict(change), boards, first, last, change)


def _distance(estimate: Estimate, metric: Metric) -> float:
    """What should be small. | |a| - |b| | <= |a - b|, so the interval of the difference holds for it as well."""
    return abs(estimate.value) if metric.good == "nearer zero" else estimate.value


def _verdict(change: Estimate) -> Verdict:
    if not change.firm:
        return "no change"
    return "better" if change.value < 0.0 else "worse"
