"""The JSON of reviews: what goes in and what comes out, as OpenAPI describes it."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import Field

from service.domain.board import LONGEST_TEXT, Standing
from service.domain.review import LONGEST_COMMENT, MOST_MARKS, Decision, Mark, Review
from service.domain.saved_remark import SavedRemark
from service.use_cases.review_board import Judgement
from service.use_cases.review_queue import Queue, Queued
from service.web.api_models import TYPED, BoardModel, Model

Key = Annotated[str, Field(max_length=32, pattern=r"^[A-Za-z0-9_-]*$")]
Said = Annotated[
    str, Field(min_length=1, max_length=LONGEST_COMMENT, pattern=r"^[^\x00-\x1f]*[^\x00-\x20\s][^\x00-\x1f]*$")
]
"""One line, and not of spaces alone."""
Part = Annotated[float, Field(ge=0.0, le=1.0)]


class MarkModel(Model):
    """A place on the picture, as parts of its width and height from the left and the top, and what it shows."""

    x: Part
    y: Part
    comment: Said


class ReviewWanted(Model):
    """What to say of a board. `picture` is the file name of the drawn result or of the photo for a screen of that
    `check`, the last part of its address; it is needed when there are marks.
    """

    decision: Decision
    remarks: Annotated[str, Field(max_length=LONGEST_TEXT, pattern=TYPED)] = ""
    marks: Annotated[list[MarkModel], Field(max_length=MOST_MARKS, default_factory=list)]
    check: Key = ""
    picture: Annotated[str, Field(max_length=80, pattern=r"^[A-Za-z0-9_.-]*$")] = ""

    def judgement(self) -> Judgement:
        """As a value of the use case."""
        marks = tuple(Mark(mark.x, mark.y, mark.comment) for mark in self.marks)
        return Judgement(self.decision, self.remarks, marks, self.check, self.picture)


class ReviewModel(Model):
    """A review. `advice` is how the tool had the board then; `reviewer` is null, and `name` empty, once they have left;
    one that was `imported` decides nothing."""

    id: str
    board: str
    reviewer: str | None
    name: str
    made_at: datetime
    decision: Decision
    advice: Standing
    remarks: str
    marks: list[MarkModel]
    check: str | None
    picture: str | None
    seen_at: datetime | None
    imported: bool

    @classmethod
    def of(cls, review: Review) -> ReviewModel:
        """From a value of the domain."""
        picture = f"/reviews/{review.id}/picture/{review.picture}" if review.picture else None
        return cls(
            id=review.id,
            board=review.board,
            reviewer=review.reviewer or None,
            name=review.name,
            made_at=review.made_at,
            decision=review.decision,
            advice=review.advice,
            remarks=review.remarks,
            marks=[MarkModel(x=mark.x, y=mark.y, comment=mark.comment) for mark in review.marks],
            check=review.check or None,
            picture=picture,
            seen_at=review.seen_at,
            imported=review.imported,
        )


class QueuedModel(Model):
    """A board of the queue, whose it is, and the photo that says most of it."""

    board: BoardModel
    student: str
    student_name: str
    check: str | None

    @classmethod
    def of(cls, queued: Queued) -> QueuedModel:
        """From a value of the use case."""
        board, check = BoardModel.of(queued.board), queued.check.id if queued.check else None
        return cls(board=board, student=queued.owner.id, student_name=queued.owner.name, check=check)


class QueueModel(Model):
    """One portion of the queue, in the order in which its boards are to be looked at."""

    boards: list[QueuedModel]
    total: int
    page: int
    pages: int

    @classmethod
    def of(cls, queue: Queue) -> QueueModel:
        """From a value of the use case."""
        page = queue.page
        boards = [QueuedModel.of(each) for each in queue.boards]
        return cls(boards=boards, total=page.total, page=page.page, pages=page.pages)


class RemarkWanted(Model):
    """A remark to keep."""

    text: Said


class RemarkModel(Model):
    """A remark that is kept."""

    id: str
    text: str

    @classmethod
    def of(cls, remark: SavedRemark) -> RemarkModel:
        """From a value of the domain."""
        return cls(id=remark.id, text=remark.text)
