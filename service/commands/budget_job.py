"""`check --budget`: the budgets that were asked for, as text or for the JSON."""

from __future__ import annotations

from typing import Any

from calibration.outcome import Refusal
from service.answers.budget_text import budgets_text
from service.errors import UsageError
from vision.answer.budget import Budget, Taken, find_budgets
from vision.answer.result import Report
from vision.answer.words import Units


def budgets_dict(result: Report | Refusal, what: str | None, photos: int = 1) -> dict[str, Any]:
    """`budgets` for the result JSON; nothing when none was asked for. `photos` is how many the result rests on."""
    if what is None or not isinstance(result, Report):
        return {}
    return {"budgets": [budget.to_dict() for budget in _budgets_of(result, what, photos)]}


def budgets_shown(report: Report, what: str, units: Units = "mm", photos: int = 1) -> str:
    """The budgets for people."""
    return budgets_text(_budgets_of(report, what, photos), len(report.prediction.sockets), units)


def _budgets_of(report: Report, what: str, photos: int) -> tuple[Budget, ...]:
    """Raises UsageError when the result has no such wall or socket; an empty `what` asks for what decides."""
    try:
        taken = Taken.of(report.measurement, photos)
        return find_budgets(report.measurement, report.prediction, what or None, taken)
    except ValueError as error:
        raise UsageError(f"--budget: {report.name}: {error}.") from error
