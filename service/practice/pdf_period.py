"""The practice of a period, print-ready: what to work on, charts, comparisons, predictions against outcomes, boards."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from calibration.units import MM_PER_INCH
from service.domain.practice_cuts import LoggedCuts
from service.practice.calibration_table import Scorecard, scorecard
from service.practice.columns import Columns, columns_of
from service.practice.comparing import all_comparisons
from service.practice.entries import DrivenBoard, PracticeBoard, in_order
from service.practice.findings import what_next
from service.practice.outcomes import EVENTS, outcomes_of
from service.practice.own_limits import own_limit
from service.practice.pdf_charts import CHART_WORDS, Box, draw_comparisons, draw_reliability, draw_trend
from service.practice.pdf_page import Paper, Sheet, fitted, page_foot, text_width
from service.practice.pdf_period_cuts import draw_cuts
from service.practice.pdf_table import ROW_MM, Column, draw_table
from service.practice.progress import progress_of_all
from service.practice.say import PLACES, counted, day_name, period_name
from service.practice.series import ABS_LEAN, ABS_TAPER, LEAN, OUT_OF_SQUARE, SPREAD, TAPER, Metric, series_of
from service.practice.trend import all_trends
from vision.answer.palette import MUTED
from vision.answer.words import Units

CHARTED = (ABS_LEAN.name, LEAN.name, TAPER.name, SPREAD.name, OUT_OF_SQUARE.name, "days_between")
CHART_MM = 64.0
_TABLE = (
    Column("date", 19.0),
    Column("wood", 22.0),
    Column("saw", 20.0),
    Column("lean", 16.0, "end"),
    Column("off square", 17.0, "end"),
    Column("taper", 17.0, "end"),
    Column("firmly off", 16.0, "end"),
    Column("", 2.0),
    Column("advice", 25.0),
    Column("decision", 25.0),
)
CORRECTED = "*"
_SHOWN = (ABS_LEAN, OUT_OF_SQUARE, ABS_TAPER)


def period_pdf(
    boards: Sequence[PracticeBoard],
    driven: Sequence[DrivenBoard] | None = None,
    cuts: Sequence[LoggedCuts] = (),
    *,
    person: str,
    start: dt.date,
    end: dt.date,
    paper: Paper = "a4",
    units: Units = "mm",
) -> bytes:
    """One person's boards from `start` to `end`, both days included, as PDF. Raises ValueError for another paper.

    `driven` are those that were driven, as they were foretold; None when that is how all `boards` still are. `cuts` are
    boards of practice cuts, oldest first.
    """
    chosen = in_order([board for board in boards if start <= board.date <= end])
    own = columns_of(chosen)
    title = f"Practice of {person}" if person else "Practice"
    sheet = Sheet(f"{title}, {period_name(start, end)}", paper)
    sawn = [board for board in cuts if start <= board.date <= end]
    y = _heading(sheet, [period_name(start, end), *_counts(len(chosen), len(sawn))], person)
    if chosen or not sawn:
        y = _advice(sheet, y, own, units)
        _charts(sheet, y, own, units)
    if chosen:
        _second_page(sheet, own, chosen if driven is None else driven, units)
    if sawn:
        draw_cuts(sheet, _next_page(sheet) if chosen else y + 3.0, sawn, units)
    if chosen:
        _board_tables(sheet, own, chosen, units)
    return sheet.save()


def _counts(boards: int, of_cuts: int) -> list[str]:
    """How many boards of either kind there are, of whichever kind there are any."""
    told = [counted(boards, "board")] if boards or not of_cuts else []
    return [*told, f"{counted(of_cuts, 'board')} of practice cuts"] if of_cuts else told


def _next_page(sheet: Sheet) -> float:
    """Where it begins."""
    sheet.next_page()
    page_foot(sheet)
    return 20.0


def _heading(sheet: Sheet, told: Sequence[str], person: str) -> float:
    sheet.text((sheet.left, 20.0), "Practice log", 16.0, bold=True)
    room = sheet.right - sheet.left - text_width("Practice log", 16.0, bold=True) - 6.0
    sheet.text((sheet.right, 20.0), fitted(person, room, 10.0), 10.0, anchor="end")
    sheet.text((sheet.left, 26.0), " · ".join(told), 9.0, colour=MUTED)
    page_foot(sheet)
    return 33.0


def _advice(sheet: Sheet, y: float, own: Columns, units: Units) -> float:
    """What to work on next, its evidence, and how it went from the first boards to the last."""
    width = sheet.right - sheet.left
    advice = what_next(own, units=units)
    y = sheet.paragraph((sheet.left, y), width, advice.sentence, 11.0, bold=True, most=4) + 0.5
    for evidence in _evidence(own, advice.evidence, units):
        y = sheet.paragraph((sheet.left, y), width, evidence, 8.0, most=2)
    return y + 1.0


def _evidence(own: Columns, evidence: Sequence[str], units: Units) -> list[str]:
    """The evidence first, then the progress it does not hold already."""
    progress = [each.sentence(units) for each in progress_of_all(own)] if own.count else []
    return list(dict.fromkeys([*evidence, *progress]))


def _charts(sheet: Sheet, y: float, own: Columns, units: Units) -> None:
    """Six charts in two columns, as high as the page allows, and how to read them."""
    if not own.count:
        return
    trends = all_trends(own)
    width = (sheet.right - sheet.left - 6.0) / 2.0
    floor = _chart_words(sheet)
    height = min(CHART_MM, (floor - y) / 3.0 - 2.0)
    for index, name in enumerate(CHARTED):
        row, column = divmod(index, 2)
        draw_trend(
            sheet,
            Box(sheet.left + column * (width + 6.0), y + row * (height + 2.0), width, height),
            trends[name],
            units,
        )


def _chart_words(sheet: Sheet) -> float:
    """How to read the charts, above the foot; where the words begin."""
    top = sheet.bottom - 18.0
    sheet.paragraph((sheet.left, top), sheet.right - sheet.left, CHART_WORDS, 7.5, colour=MUTED, most=2)
    return top - 4.0


def _second_page(sheet: Sheet, own: Columns, boards: Sequence[PracticeBoard | DrivenBoard], units: Units) -> None:
    """Signals in words, comparisons, and predictions against outcomes."""
    y = _signals(sheet, _next_page(sheet), own)
    y = _comparisons(sheet, y, own)
    outcomes = outcomes_of(boards)
    if outcomes:
        _outcomes(sheet, y, boards, scorecard(outcomes), units)


def _signals(sheet: Sheet, y: float, own: Columns) -> float:
    """The latest three of each chart, in words."""
    sheet.text((sheet.left, y), "What the charts say", 11.0, bold=True)
    y += 6.0
    for trend in all_trends(own).values():
        words = f"{trend.metric.title}: {' '.join(trend.sentences()[:3])}"
        y = sheet.paragraph((sheet.left, y), sheet.right - sheet.left, words, 8.0, most=3) + 0.8
    return y + 4.0


def _comparisons(sheet: Sheet, y: float, own: Columns) -> float:
    found = all_comparisons(own)
    if not found:
        return y
    height = 14.0 + 5.0 * len(found)
    draw_comparisons(sheet, Box(sheet.left, y, sheet.right - sheet.left, height), found)
    return y + height + 6.0


def _outcomes(
    sheet: Sheet, y: float, boards: Sequence[PracticeBoard | DrivenBoard], card: Scorecard, units: Units
) -> None:
    """Reliability of the three predictions, the score, and the person's own limits."""
    width = (sheet.right - sheet.left - 8.0) / 3.0
    words = f"How did it fit? {card.sentence} Brier score {card.brier:.3f} (0 is perfect, 2 always wrong)."
    y = sheet.paragraph((sheet.left, y), sheet.right - sheet.left, words, 9.0, bold=True) + 1.0
    for index, event in enumerate(EVENTS):
        box = Box(sheet.left + index * (width + 4.0), y, width, 50.0)
        draw_reliability(sheet, box, f"Predicted: {event}", card.tables[event])
    y += 56.0
    for limit in (own_limit(boards, "gap"), own_limit(boards, "squeeze")):
        if limit:
            y = sheet.paragraph((sheet.left, y), sheet.right - sheet.left, limit.sentence(units), 8.0, most=3) + 0.8


def _board_tables(sheet: Sheet, own: Columns, boards: Sequence[PracticeBoard], units: Units) -> None:
    """Every board, as many to a page as fit."""
    rows = _board_rows(own, boards, units)
    fit = int((sheet.bottom - 20.0 - 26.0) / ROW_MM) - 2
    for first in range(0, len(rows), fit):
        sheet.text((sheet.left, _next_page(sheet)), "Boards", 11.0, bold=True)
        shown = rows[first : first + fit]
        y = draw_table(sheet, (sheet.left, 23.0), _TABLE, shown)
        if any(row[-2].endswith(CORRECTED) for row in shown):
            sheet.text((sheet.left, y + 3.0), f"{CORRECTED} by walls that were corrected by hand", 7.0, colour=MUTED)


def _board_rows(own: Columns, boards: Sequence[PracticeBoard], units: Units) -> list[list[str]]:
    """Sizes of lean, out of square and taper, the tool's advice and what was decided, board by board."""
    values = {metric.name: _by_board(own, metric) for metric in _SHOWN}
    return [
        [
            day_name(board.date),
            board.species,
            board.saw,
            *(_number(values[metric.name].get(board.identity), metric.unit, units) for metric in _SHOWN),
            f"{board.failed} of {len(board.sockets)}",
            "",
            board.advice + CORRECTED * board.corrected,
            board.decision,
        ]
        for board in boards
    ]


def _by_board(own: Columns, metric: Metric) -> dict[str, float]:
    series = series_of(own, metric)
    return dict(zip(series.identities, series.values.tolist(), strict=True))


def _number(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return ""
    if (unit, units) == ("mm", "inch"):
        return f"{value / MM_PER_INCH:.{PLACES['in']}f} in"
    return f"{value:.{PLACES[unit]}f}{'°' if unit == 'deg' else ' ' + unit}"
