"""The JSON of looking back: trends, and predictions against outcomes."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from service.domain.fit import LONGEST_NOTE
from service.use_cases.look_at_outcomes import OutcomesView
from service.use_cases.look_at_trends import TrendsView
from service.web.api_models import TYPED, Model


class TrendsModel(Model):
    """What the latest measured boards say. `charts` hold every number's points, limits and signals, by its name.

    `practice_cuts` are so many boards of practice cuts, whose numbers begin with `cuts`.
    """

    boards: int
    practice_cuts: int
    next: dict[str, Any]
    progress: list[dict[str, Any]]
    comparisons: list[dict[str, Any]]
    charts: dict[str, dict[str, Any]]

    @classmethod
    def of(cls, view: TrendsView) -> TrendsModel:
        """From the use case's view."""
        return cls(
            boards=len(view.log),
            practice_cuts=len(view.cuts),
            next=view.next.to_dict(),
            progress=[each.to_dict() for each in (*view.progress, *view.cuts_progress)],
            comparisons=[each.to_dict() for each in view.comparisons],
            charts={name: trend.to_chart() for name, trend in {**view.trends, **view.cuts_trends}.items()},
        )


class StudentScore(Model):
    """A student's predictions against outcomes."""

    person: str
    name: str
    score: dict[str, Any]


class OutcomesModel(Model):
    """Predictions against outcomes over all woods (null without any), by wood, and for instructors by student.

    `limits` are fitted to the person's own results; nothing is judged by them.
    """

    boards: int
    overall: dict[str, Any] | None
    by_wood: dict[str, dict[str, Any]]
    limits: list[dict[str, Any]]
    students: list[StudentScore]

    @classmethod
    def of(cls, view: OutcomesView) -> OutcomesModel:
        """From the use case's view."""
        students = [StudentScore(person=who.id, name=who.name, score=card.to_chart()) for who, card in view.students]
        return cls(
            boards=view.boards,
            overall=view.card.to_chart() if view.card else None,
            by_wood={wood: card.to_chart() for wood, card in view.by_wood.items()},
            limits=[limit.to_dict() for limit in view.limits],
            students=students,
        )


class FitNoteModel(Model):
    """What is said of how the driven joint fitted."""

    note: Annotated[str, Field(max_length=LONGEST_NOTE, pattern=TYPED)]
