"""The practice cuts of a period: how many boards, mean lean and scatter as the trends have them, charts, a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.practice_cuts import LoggedCuts
from service.practice.cuts import cuts_progress, cuts_trends
from service.practice.entries import COVERAGE
from service.practice.pdf_charts import CHART_WORDS, Box, draw_trend
from service.practice.pdf_page import Sheet, page_foot
from service.practice.pdf_table import ROW_MM, Column, draw_table
from service.practice.say import counted, day_name, pair, period_name, plain, unit_name
from service.practice.trend import Trend
from vision.answer.palette import MUTED
from vision.answer.words import Units

CHART_MM = 60.0
FLOOR_MM = 14.0
"""Room for the foot of a page."""
_TABLE = (
    Column("date", 24.0),
    Column("board", 76.0),
    Column("mean lean, degrees", 36.0, "end"),
    Column("standard deviation, degrees", 44.0, "end"),
)
_READING = (
    "Mean lean is that of a board's cuts, off what was meant by each. The bars, and ± in the table, hold what measuring"
    " leaves open of a board (95 %), not what a handful of cuts leaves open of a sawyer."
)


@dataclass(frozen=True)
class _Told:
    """The boards, oldest first, and the trends of their two numbers, as far as there are any."""

    log: Sequence[LoggedCuts]
    trends: Sequence[Trend]

    @property
    def charted(self) -> Sequence[Trend]:
        """Those that a chart or a sentence says something of: a single board makes none."""
        return [trend for trend in self.trends if len(trend.series.values) > 1]


def draw_cuts(sheet: Sheet, y: float, log: Sequence[LoggedCuts], units: Units = "mm") -> None:
    """The section from y down, and over as many pages as its table takes; there is at least one board."""
    told = _Told(log, [trend for trend in cuts_trends(log).values() if len(trend.series.values)])
    y = _heading(sheet, y, told)
    y = _sentences(sheet, y, told, units)
    y = _charts(sheet, y + 1.0, told, units)
    _table(sheet, y, told)


def _heading(sheet: Sheet, y: float, told: _Told) -> float:
    sheet.text((sheet.left, y), "Practice cuts", 11.0, bold=True)
    words = f"{counted(len(told.log), 'board')}, {period_name(told.log[0].date, told.log[-1].date)}"
    sheet.text((sheet.left, y + 5.0), words, 9.0, colour=MUTED)
    return y + 11.0


def _sentences(sheet: Sheet, y: float, told: _Told, units: Units) -> float:
    """The means, what the charts say of each, and how it went."""
    width = sheet.right - sheet.left
    for trend in told.trends:
        y = sheet.paragraph((sheet.left, y), width, _mean(trend, units), 9.0, bold=True, most=2)
        if trend in told.charted:
            y = sheet.paragraph((sheet.left, y), width, " ".join(trend.sentences()[:3]), 8.0, most=3)
        y += 1.2
    for progress in cuts_progress(told.log):
        y = sheet.paragraph((sheet.left, y), width, _here(progress.sentence(units)), 8.0, most=2)
    return y


def _here(words: str) -> str:
    """Without saying once more that it is about practice cuts."""
    said = words.removeprefix("Practice cuts: ")
    return said[0].upper() + said[1:]


def _mean(trend: Trend, units: Units) -> str:
    """As the page of trends tells it."""
    metric, values = trend.metric, trend.series.values
    mean = f"{plain(float(values.mean()), metric.unit, units)} {unit_name(metric.unit, units)}"
    over = f", mean of {len(values)} boards" if len(values) > 1 else ""
    return f"{_here(metric.title)}: {mean}{over}."


def _charts(sheet: Sheet, y: float, told: _Told, units: Units) -> float:
    """Both side by side, and how to read them."""
    width = (sheet.right - sheet.left - 6.0) / 2.0
    for column, trend in enumerate(told.charted):
        draw_trend(sheet, Box(sheet.left + column * (width + 6.0), y, width, CHART_MM), trend, units)
    y += CHART_MM + 4.0 if told.charted else 0.0
    words = f"{CHART_WORDS} {_READING}" if told.charted else _READING
    return sheet.paragraph((sheet.left, y), sheet.right - sheet.left, words, 7.5, colour=MUTED) + 2.0


def _table(sheet: Sheet, y: float, told: _Told) -> None:
    """Every board, as many to a page as fit."""
    rows = _rows(told)
    while rows:
        fit = max(int((sheet.bottom - FLOOR_MM - y) / ROW_MM) - 1, 0)
        if fit:
            draw_table(sheet, (sheet.left, y), _TABLE, rows[:fit])
        rows = rows[fit:]
        if rows:
            sheet.next_page()
            page_foot(sheet)
            sheet.text((sheet.left, 20.0), "Practice cuts", 11.0, bold=True)
            y = 23.0


def _rows(told: _Told) -> list[list[str]]:
    numbers = {trend.metric.name: _by_board(trend) for trend in told.trends}
    both = [numbers.get(name, {}) for name in ("cuts_lean", "cuts_scatter")]
    return [
        [day_name(board.date), board.name, *(of_board.get(board.identity, "") for of_board in both)]
        for board in told.log
    ]


def _by_board(trend: Trend) -> dict[str, str]:
    """The number of every board with its expanded uncertainty, by the board's id."""
    series = trend.series
    told = (pair(value, COVERAGE * u) for value, u in zip(series.values.tolist(), series.u.tolist(), strict=True))
    return dict(zip(series.identities, told, strict=True))
