"""What the pages that look back show, worked out before any template sees it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from service.domain.log_numbers import Logged
from service.domain.person import Units
from service.domain.practice_cuts import LoggedCuts
from service.practice.comparing import Comparison
from service.practice.entries import COVERAGE
from service.practice.progress import Progress
from service.practice.say import pair, plain, shown, unit_name
from service.practice.signals import Recurrence, Signal
from service.practice.trend import Trend
from service.use_cases.look_at_trends import TrendsView
from service.web.practice_drawing import IntervalDrawing, interval_drawings

ZONES = (-2, -1, 1, 2)
TOPICS = ("side", "position", "species", "saw")
_GOOD = {True: "better", False: "worse", None: ""}
SIGNALS_SHOWN = 4
"""The latest; older ones are folded away."""


@dataclass(frozen=True)
class Average:
    """The moving average at a board, and its limits."""

    value: float
    low: float
    high: float
    text: str
    limits: str


@dataclass(frozen=True)
class Point:
    """One board on the charts: numbers in the unit that is shown, and the same as text. Few boards have no average.

    `signals` are those that it is part of, `good` whether they are `better`, `worse` or neither; `ends` tells that one
    ends with it.
    """

    board: str
    name: str
    day: date
    value: float
    u95: float
    text: str
    average: Average | None
    signals: tuple[str, ...]
    good: str
    ends: bool


@dataclass(frozen=True)
class Level:
    """A line across a chart."""

    name: str
    value: float
    text: str


@dataclass(frozen=True)
class Once:
    """One signal: the days of the boards that it rests on, how many they are, and the last of them."""

    days: str
    boards: int
    board: str
    name: str


@dataclass(frozen=True)
class Told:
    """A signal in words, told once however often it came: when, `times` as words, and each time, the latest first."""

    days: str
    times: str
    sentence: str
    good: bool | None
    each: Sequence[Once]


@dataclass(frozen=True)
class Charts:
    """The charts of one number: points in order of time, the lines across, and what they say."""

    trend: Trend
    units: Units
    log: Sequence[Logged | LoggedCuts]

    @property
    def unit(self) -> str:
        """The unit in words."""
        return unit_name(self.trend.metric.unit, self.units)

    @cached_property
    def points(self) -> Sequence[Point]:
        """A point for every board that has the number."""
        names = {logged.identity: logged.name for logged in self.log}
        series = self.trend.series
        numbers = map(self._number, series.values.tolist(), series.u.tolist())
        ends, good = {signal.last for signal in self.trend.signals}, self.trend.judged_points()
        columns = zip(series.identities, series.dates, numbers, self._averages, self._signals_at, strict=True)
        return [
            Point(board, names.get(board, ""), day, *number, average, signals, _GOOD[good.get(index)], index in ends)
            for index, (board, day, number, average, signals) in enumerate(columns)
        ]

    @cached_property
    def levels(self) -> dict[str, Level]:
        """Centre, limits and zones of the control chart, and the median of the run chart, by name."""
        found: dict[str, Level] = {}
        if self.trend.run:
            found["median"] = self._level("median", self.trend.run.median)
        if baseline := self.trend.baseline:
            named = {"centre": 0.0, "upper": 3.0, "lower": -3.0} | {f"zone{zone:+d}": float(zone) for zone in ZONES}
            found |= {name: self._level(name, baseline.level(sigmas)) for name, sigmas in named.items()}
        return found

    @cached_property
    def signals(self) -> Sequence[Told]:
        """All signals, repetitions told as one, the latest first."""
        return [self._told(*each) for each in self.trend.told()]

    @property
    def latest_signals(self) -> Sequence[Told]:
        """Those that are in sight."""
        return self.signals[:SIGNALS_SHOWN]

    @property
    def older_signals(self) -> Sequence[Told]:
        """Those that are folded away."""
        return self.signals[SIGNALS_SHOWN:]

    def _told(self, told: Recurrence, good: bool | None) -> Told:
        each = [self._once(signal) for signal in reversed(told.signals)]
        return Told(self.trend.days_of(told), told.times, told.latest.sentence, good, each)

    def _once(self, signal: Signal) -> Once:
        last, boards = self.points[signal.last], signal.last - signal.first + 1
        return Once(self.trend.days_of(signal), boards, last.board, last.name)

    @property
    def _signals_at(self) -> list[tuple[str, ...]]:
        """Of every point the signals that it is part of."""
        found: list[tuple[str, ...]] = [()] * len(self.trend.series.values)
        for signal in self.trend.signals:
            for index in range(signal.first, signal.last + 1):
                found[index] = (*found[index], signal.sentence)
        return found

    def _number(self, value: float, u: float) -> tuple[float, float, str]:
        """A number, its expanded uncertainty, and both as text."""
        number, u95 = self._shown(value), self._shown(COVERAGE * u)
        return number, u95, pair(number, u95) if u95 else self._plain(value)

    @property
    def _averages(self) -> list[Average | None]:
        """The moving average at every point, on the number's own scale."""
        moving, baseline = self.trend.ewma, self.trend.baseline
        if moving is None or baseline is None:
            return [None] * len(self.trend.series.values)
        ends = (moving.averages, moving.target - moving.half_widths, moving.target + moving.half_widths)
        columns = (baseline.uncharted(end).tolist() for end in ends)
        return [self._average(*each) for each in zip(*columns, strict=True)]

    def _average(self, value: float, low: float, high: float) -> Average:
        limits = f"{self._plain(low)} to {self._plain(high)}"
        return Average(self._shown(value), self._shown(low), self._shown(high), self._plain(value), limits)

    def _level(self, name: str, value: float) -> Level:
        return Level(name, self._shown(value), self._plain(value))

    def _shown(self, value: float) -> float:
        return shown(value, self.trend.metric.unit, self.units)

    def _plain(self, value: float) -> str:
        return plain(value, self.trend.metric.unit, self.units)


@dataclass(frozen=True)
class Glance:
    """One number at a glance: its mean over so many boards, and the first thing that its charts say."""

    name: str
    title: str
    mean: str
    boards: int
    sentence: str


@dataclass(frozen=True)
class TrendsPage:
    """The page of trends."""

    view: TrendsView
    units: Units
    charts: Charts

    @property
    def glances(self) -> Sequence[Glance]:
        """All numbers at a glance."""
        return [self._glance(trend) for trend in self.view.trends.values() if len(trend.series.values)]

    @property
    def cuts_glances(self) -> Sequence[Glance]:
        """The numbers of practice cuts at a glance."""
        return [self._glance(trend) for trend in self.view.cuts_trends.values() if len(trend.series.values)]

    @property
    def progress(self) -> Sequence[tuple[Progress, str]]:
        """What can be compared, with its sentence."""
        return [(each, each.sentence(self.units)) for each in self.view.progress]

    @property
    def cuts_progress(self) -> Sequence[tuple[Progress, str]]:
        """The same of practice cuts."""
        return [(each, each.sentence(self.units)) for each in self.view.cuts_progress]

    @property
    def compared(self) -> Sequence[tuple[str, Sequence[tuple[Comparison, IntervalDrawing]]]]:
        """Comparisons by topic, each with its drawing on one scale for all."""
        drawn = list(zip(self.view.comparisons, interval_drawings(self.view.comparisons), strict=True))
        by_topic = [(topic, [pair for pair in drawn if pair[0].topic == topic]) for topic in TOPICS]
        return [(topic, pairs) for topic, pairs in by_topic if pairs]

    def _glance(self, trend: Trend) -> Glance:
        metric = trend.metric
        unit = unit_name(metric.unit, self.units)
        values = trend.series.values
        mean = f"{plain(float(values.mean()), metric.unit, self.units)} {unit}"
        return Glance(metric.name, metric.title, mean, len(values), next(iter(trend.sentences()), ""))
