"""The filters of the review queue and the form of a review as typed, as values of the use cases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Depends
from starlette.datastructures import FormData

from service.domain.mistakes import MistakeError
from service.domain.review import DECISIONS, Mark
from service.domain.review_queue import Show
from service.texts import text
from service.use_cases.review_board import Judgement
from service.use_cases.review_queue import Narrowed
from service.web.forms import printable, typed_form, typed_page


@dataclass(frozen=True)
class QueueForm:
    """The filters as they stand in an address; what makes no sense narrows nothing."""

    classroom: str = ""
    assignment: str = ""
    student: str = ""
    show: str = "open"
    shown: str = ""
    page: str = "1"

    def narrowed(self) -> Narrowed:
        """As the use cases have it."""
        classroom, assignment, student = map(printable, (self.classroom, self.assignment, self.student))
        show: Show = "reviewed" if self.show == "reviewed" else "open"
        return Narrowed(classroom, assignment, student, show, self.shown == "yes", typed_page(self.page))

    @property
    def query(self) -> str:
        """The filters for another address, with its question mark; empty when nothing is narrowed."""
        return self.query_with()

    def query_with(self, **more: str) -> str:
        """The filters and more for another address; what is empty or as usual is left out."""
        usual = vars(QueueForm())
        told = {name: value for name, value in (vars(self) | more).items() if value and value != usual.get(name)}
        return f"?{urlencode(told)}" if told else ""

    def at_page(self, page: int) -> str:
        """The address of another portion."""
        return f"/review{replace(self, page=str(page)).query}"

    @property
    def is_narrowed(self) -> bool:
        """Whether any filter stands."""
        return any((self.classroom, self.assignment, self.student, self.shown))


@dataclass(frozen=True)
class TypedMark:
    """A mark as typed, its place in percent of the picture."""

    x: str
    y: str
    comment: str

    def mark(self, number: int) -> Mark:
        """Raises MistakeError."""
        try:
            x, y = (float(part.replace(",", ".")) / 100.0 for part in (self.x, self.y))
        except ValueError as error:
            raise MistakeError("marks", text("review.no_place", number=number)) from error
        return Mark(x, y, " ".join(self.comment.split()))


@dataclass(frozen=True)
class ReviewForm:
    """A review as typed. `then` says where to go on to: the next board, or stay."""

    decision: str = ""
    remarks: str = ""
    check: str = ""
    picture: str = ""
    marks: Sequence[TypedMark] = ()
    then: str = "next"

    def judgement(self) -> Judgement:
        """Raises MistakeError, naming the field."""
        decision = next((known for known in DECISIONS if known == self.decision), None)
        if decision is None:
            raise MistakeError("decision", text("review.no_decision"))
        marks = tuple(typed.mark(number) for number, typed in enumerate(self.marks, start=1))
        remarks = self.remarks.strip().replace("\r\n", "\n")
        on = (self.check, self.picture) if self.picture else ("", "")
        return Judgement(decision, remarks, marks, *on)


def typed_review(form: Annotated[FormData, Depends(typed_form)]) -> ReviewForm:
    """The form of the review page: a place and a comment for every mark, those left empty passed over."""
    columns = [[str(value) for value in form.getlist(name)] for name in ("x", "y", "comment")]
    rows = [TypedMark(*row) for row in zip(*columns, strict=False)]
    marks = [row for row in rows if (row.x + row.y + row.comment).strip()]
    texts = {name: str(form.get(name, "")) for name in ("decision", "remarks", "check", "picture")}
    return ReviewForm(**texts, marks=marks, then=str(form.get("then", "next")))


Narrowing = Annotated[QueueForm, Depends()]
Typed = Annotated[ReviewForm, Depends(typed_review)]
