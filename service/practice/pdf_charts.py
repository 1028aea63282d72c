"""Charts on a sheet, as vectors: a control chart, differences with intervals, a reliability diagram."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.units import MM_PER_INCH
from service.practice.calibration_table import ReliabilityRow
from service.practice.comparing import Comparison
from service.practice.entries import COVERAGE
from service.practice.pdf_page import Point, Sheet, fitted
from service.practice.say import day_name, unit_name
from service.practice.ticks import padded, tick_places, ticks
from service.practice.trend import Trend
from vision.answer.palette import INK, MUTED, WINE, Colour
from vision.answer.words import Units

GRID: Colour = (222, 222, 216)
BLUE: Colour = (20, 96, 150)
AMBER: Colour = (190, 120, 0)
CHART_WORDS = (
    "Dots are boards, amber bars their 95 % uncertainty, the grey line your mean, dashed lines the control limits"
    " (three sigma), the blue line the moving average. Signals, what chance alone seldom makes, are marked: a blue"
    " ring to the better, a red square to the worse, a black one where neither is better."
)
"""How to read a metric's chart."""
MOST_BARS = 60
"""Points up to which each shows its uncertainty; more would be a blur."""


@dataclass(frozen=True)
class Box:
    """A rectangle on the sheet, mm."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Right end."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Lower end."""
        return self.top + self.height

    def inside(self, left: float, top: float, right: float, bottom: float) -> Box:
        """The box less so much room on each side."""
        return Box(self.left + left, self.top + top, self.width - left - right, self.height - top - bottom)


@dataclass(frozen=True)
class Plot:
    """A plotting area and the ranges of its axes."""

    box: Box
    x_range: Point
    y_range: Point

    def x(self, value: float) -> float:
        """Where a value lies across the page."""
        low, high = self.x_range
        return self.box.left + (value - low) / (high - low) * self.box.width

    def y(self, value: float) -> float:
        """Where a value lies down the page; kept inside the plot."""
        low, high = self.y_range
        share = min(max((value - low) / (high - low), 0.0), 1.0)
        return self.box.bottom - share * self.box.height

    def at(self, x: float, y: float) -> Point:
        """A point of the plot on the page."""
        return self.x(x), self.y(y)


def draw_trend(sheet: Sheet, box: Box, trend: Trend, units: Units = "mm") -> None:
    """A metric's control chart: points with U, centre, limits, moving average (blue), signals marked."""
    _title(sheet, box, f"{trend.metric.title} ({unit_name(trend.metric.unit, units)})")
    plot = Plot(box.inside(12.0, 6.0, 2.0, 6.0), (-0.5, max(len(trend.series.values) - 0.5, 0.5)), _trend_range(trend))
    _y_axis(sheet, plot, trend.metric.unit, units)
    _dates(sheet, plot, trend)
    _levels(sheet, plot, trend)
    _points(sheet, plot, trend)


def draw_comparisons(sheet: Sheet, box: Box, comparisons: Sequence[Comparison]) -> None:
    """Differences of one unit with their intervals: thick for one alone, thin for all together."""
    _title(sheet, box, "Differences in lean, degrees (thin: interval that holds for all comparisons together)")
    ends = [each.difference.value + sign * each.difference.simultaneous for each in comparisons for sign in (-1, 1)]
    area = box.inside(62.0, 6.0, 4.0, 6.0)
    plot = Plot(area, padded(min(0.0, *ends), max(0.0, *ends)), (len(comparisons) - 0.5, -0.5))
    _x_axis(sheet, plot)
    sheet.line([(plot.x(0.0), area.top), (plot.x(0.0), area.bottom)], 0.3, colour=MUTED)
    for row, comparison in enumerate(comparisons):
        _interval(sheet, box, plot, row, comparison)


def draw_reliability(sheet: Sheet, box: Box, title: str, rows: Sequence[ReliabilityRow]) -> None:
    """Observed frequency against forecast, with Wilson's intervals; on the diagonal, predictions came true as said."""
    _title(sheet, box, title)
    plot = Plot(box.inside(10.0, 6.0, 2.0, 8.0), (0.0, 1.0), (0.0, 1.0))
    _y_axis(sheet, plot, "", "mm")
    _x_axis(sheet, plot)
    sheet.text((plot.box.left + plot.box.width / 2, box.bottom), "predicted", 6.5, colour=MUTED, anchor="middle")
    sheet.line([plot.at(0.0, 0.0), plot.at(1.0, 1.0)], 0.2, colour=MUTED, dash=(1.0, 1.0))
    for row in rows:
        sheet.line(
            [plot.at(row.forecast, row.observed_low), plot.at(row.forecast, row.observed_high)], 0.3, colour=BLUE
        )
        sheet.dot(plot.at(row.forecast, row.observed), 0.9, BLUE)
        sheet.text((plot.x(row.forecast) + 1.2, plot.y(row.observed) - 1.2), str(row.count), 6.0, colour=MUTED)


def _title(sheet: Sheet, box: Box, words: str) -> None:
    sheet.text((box.left, box.top + 3.0), fitted(words, box.width, 8.0, True), 8.0, bold=True)


def _trend_range(trend: Trend) -> Point:
    """All points with their uncertainties, and the limits."""
    values, reach = trend.series.values, COVERAGE * trend.series.u
    ends = [*(values - reach).tolist(), *(values + reach).tolist()]
    ends += [trend.baseline.upper, trend.baseline.lower] if trend.baseline else []
    low, high = padded(min(ends, default=0.0), max(ends, default=1.0))
    return (max(low, 0.0) if trend.metric.never_negative else low), high


def _y_axis(sheet: Sheet, plot: Plot, unit: str, units: Units) -> None:
    """Grid lines and numbers; lengths in inches where asked for."""
    scale = MM_PER_INCH if (unit, units) == ("mm", "inch") else 1.0
    marks = ticks(plot.y_range[0] / scale, plot.y_range[1] / scale)
    places = tick_places(marks)
    for mark in marks:
        y = plot.y(mark * scale)
        sheet.line([(plot.box.left, y), (plot.box.right, y)], 0.1, colour=GRID)
        sheet.text((plot.box.left - 1.8, y + 0.8), f"{mark + 0.0:.{places}f}", 6.5, colour=MUTED, anchor="end")


def _x_axis(sheet: Sheet, plot: Plot) -> None:
    marks = ticks(*plot.x_range)
    places = tick_places(marks)
    for mark in marks:
        x = plot.x(mark)
        sheet.line([(x, plot.box.top), (x, plot.box.bottom)], 0.1, colour=GRID)
        sheet.text((x, plot.box.bottom + 3.0), f"{mark + 0.0:.{places}f}", 6.5, colour=MUTED, anchor="middle")


def _dates(sheet: Sheet, plot: Plot, trend: Trend) -> None:
    """The first and the last date."""
    dates = trend.series.dates
    sheet.line([(plot.box.left, plot.box.bottom), (plot.box.right, plot.box.bottom)], 0.2, colour=MUTED)
    if dates:
        sheet.text((plot.box.left, plot.box.bottom + 3.0), day_name(dates[0]), 6.5, colour=MUTED)
    if len(dates) > 1:
        sheet.text((plot.box.right, plot.box.bottom + 3.0), day_name(dates[-1]), 6.5, colour=MUTED, anchor="end")


def _levels(sheet: Sheet, plot: Plot, trend: Trend) -> None:
    """Centre, control limits, moving average."""
    if not trend.baseline or not trend.ewma:
        return
    for level, dash in (
        (trend.baseline.level(0.0), None),
        (trend.baseline.upper, (1.5, 1.0)),
        (trend.baseline.lower, (1.5, 1.0)),
    ):
        sheet.line([(plot.box.left, plot.y(level)), (plot.box.right, plot.y(level))], 0.25, colour=MUTED, dash=dash)
    averages = trend.baseline.uncharted(trend.ewma.averages)
    sheet.line([plot.at(i, value) for i, value in enumerate(averages.tolist())], 0.5, colour=BLUE)


def _points(sheet: Sheet, plot: Plot, trend: Trend) -> None:
    values, reach = trend.series.values.tolist(), (COVERAGE * trend.series.u).tolist()
    radius = float(np.clip(40.0 / max(len(values), 1), 0.3, 0.8))
    for i, (value, half) in enumerate(zip(values, reach, strict=True)):
        if half > 0.0 and len(values) <= MOST_BARS:
            sheet.line([plot.at(i, value - half), plot.at(i, value + half)], 0.15, colour=AMBER)
        sheet.dot(plot.at(i, value), radius, INK)
    for i, good in sorted(trend.judged_points().items()):
        _signal(sheet, plot.at(i, values[i]), radius + 0.6, good)


def _signal(sheet: Sheet, at: Point, radius: float, good: bool | None) -> None:
    """A ring about a point of a signal to the better; a square, in another colour for the worse, about any other."""
    if good:
        sheet.dot(at, radius, BLUE, hollow=True)
        return
    (x, y), corners = at, ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
    colour = INK if good is None else WINE
    sheet.line([(x + radius * dx, y + radius * dy) for dx, dy in corners], 0.3, colour=colour)


def _interval(sheet: Sheet, box: Box, plot: Plot, row: int, comparison: Comparison) -> None:
    difference, y = comparison.difference, plot.y(row)
    colour = WINE if difference.firm else MUTED
    words = f"{comparison.what}: {comparison.group} less {comparison.other}"
    sheet.text((box.left, y + 0.9), fitted(words, 60.0, 7.0), 7.0)
    for half, width in ((difference.simultaneous, 0.2), (difference.half_width, 0.7)):
        sheet.line([(plot.x(difference.value - half), y), (plot.x(difference.value + half), y)], width, colour=colour)
    sheet.dot((plot.x(difference.value), y), 0.9, colour)
