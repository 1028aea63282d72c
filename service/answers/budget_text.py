"""Budgets on the terminal: a table of causes for each number, then what would make its U smaller."""

from __future__ import annotations

from collections.abc import Sequence

from service.answers.table import table_text
from service.answers.wrapped import wrapped
from vision.answer.budget import Budget, Line
from vision.answer.budget_words import LEAST_SHARE, budget_title, cause_words, forecast_sentences, in_units, places_for
from vision.answer.words import Units, format_plus_minus


def budgets_text(budgets: Sequence[Budget], sockets: int, units: Units = "mm") -> str:
    """All budgets of one result, at most 80 columns wide; `sockets` is how many the board has."""
    return "\n\n".join(_budget_text(budget, sockets, units) for budget in budgets)


def _budget_text(budget: Budget, sockets: int, units: Units) -> str:
    value = format_plus_minus(budget.quantity, units).replace(" deg", "°")
    title = f"Uncertainty of {budget_title(budget, sockets)}: {value}"
    _, unit = in_units(0.0, budget, units)
    table = table_text(("what adds to U", f"± {unit}", "share of U²"), _rows(budget, units))
    sentences = forecast_sentences(budget, units)
    return "\n".join([*wrapped(title), *table, *(line for each in sentences for line in wrapped(each))])


def _rows(budget: Budget, units: Units) -> list[tuple[str, str, str]]:
    """A row for every cause that counts, one for the rest, and the total, in quadrature."""
    large = [line for line in budget.lines if line.share >= LEAST_SHARE]
    small = [line for line in budget.lines if line.share < LEAST_SHARE]
    rows = [_row(cause_words(line.cause), line.u95, line.share, budget, units) for line in large]
    if small:
        rows.append(_row("all else", *_together(small), budget, units))
    return [*rows, _row("together, by squares", *_together(budget.lines), budget, units)]


def _together(lines: Sequence[Line]) -> tuple[float, float]:
    """Contribution and share of several causes."""
    return sum(line.u95**2 for line in lines) ** 0.5, sum(line.share for line in lines)


def _row(name: str, u95: float, share: float, budget: Budget, units: Units) -> tuple[str, str, str]:
    value, _ = in_units(u95, budget, units)
    places = places_for(in_units(budget.quantity.u95, budget, units)[0])
    return name, f"{value:.{places}f}", f"{100.0 * share:.0f} %"
