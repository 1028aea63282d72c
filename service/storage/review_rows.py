"""Reviews and saved remarks as rows of one database session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import delete, exists, or_, select, update
from sqlalchemy.orm import Session

from service.domain.board import Board
from service.domain.mistakes import NotFoundError
from service.domain.review import Mark, Review
from service.domain.saved_remark import SavedRemark
from service.storage.rows import board_of
from service.storage.tables import BoardRow, ReviewRow, SavedRemarkRow

NEWEST_FIRST = ReviewRow.made_at.desc(), ReviewRow.id.desc()
LOOKED_THROUGH = 200
"""So many of the boards reviewed last are looked through for a review that was not seen."""


class ReviewRows:
    """`review_ports.Reviews` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, review: Review) -> None:
        self._session.add(ReviewRow(**review_values(review)))
        self._session.flush()

    def get(self, review_id: str) -> Review:
        return _review_of(self._one(review_id))

    def _one(self, review_id: str) -> ReviewRow:
        known = review_id if review_id.isprintable() else ""  # PostgreSQL takes no text with a zero in it
        asked = select(ReviewRow).where(ReviewRow.id == known).execution_options(populate_existing=True)
        row = self._session.scalar(asked)
        if row is None:
            raise NotFoundError
        return row

    def has(self, review_id: str) -> bool:
        return bool(self._session.scalar(select(exists().where(ReviewRow.id == review_id))))

    def of_board(self, board_id: str) -> Sequence[Review]:
        asked = select(ReviewRow).where(ReviewRow.board_id == board_id).order_by(*NEWEST_FIRST)
        rows = self._session.scalars(asked.execution_options(populate_existing=True))
        return [_review_of(row) for row in rows]

    def of_owner(self, person_id: str) -> Sequence[Review]:
        of_boards = select(ReviewRow).join(BoardRow, BoardRow.id == ReviewRow.board_id)
        return [_review_of(row) for row in self._session.scalars(of_boards.where(BoardRow.person_id == person_id))]

    def unseen_by(self, person_id: str) -> Sequence[Board]:
        newest_first = BoardRow.reviewed_at.desc(), BoardRow.id.desc()
        reviewed = select(BoardRow.id).where(BoardRow.person_id == person_id, BoardRow.reviewed_at.is_not(None))
        of_newest = ReviewRow.board_id == BoardRow.id, ReviewRow.made_at == BoardRow.reviewed_at
        by_other = or_(ReviewRow.reviewer_id.is_(None), ReviewRow.reviewer_id != person_id)
        unseen = exists().where(*of_newest, ReviewRow.seen_at.is_(None), ReviewRow.imported.is_(False), by_other)
        last = BoardRow.id.in_(reviewed.order_by(*newest_first).limit(LOOKED_THROUGH))
        asked = select(BoardRow).where(last, unseen).order_by(*newest_first)
        return [board_of(row) for row in self._session.scalars(asked)]

    def forget(self, person_id: str) -> None:
        self._session.execute(update(ReviewRow).where(_by(person_id)).values(name="", reviewer_id=None))

    def has_any_by(self, person_id: str) -> bool:
        return bool(self._session.scalar(select(exists().where(_by(person_id)))))

    def note_seen(self, review_id: str, seen_at: datetime) -> None:
        self._session.execute(update(ReviewRow).where(ReviewRow.id == review_id).values(seen_at=seen_at))

    def let_photo_go(self, check_id: str) -> None:
        of_photo = update(ReviewRow).where(ReviewRow.check_id == check_id)
        self._session.execute(of_photo.values(check_id=None, picture=""))


class SavedRemarkRows:
    """`review_ports.SavedRemarks` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, remark: SavedRemark) -> None:
        self._session.add(SavedRemarkRow(id=remark.id, person_id=remark.person, text=remark.text))
        self._session.flush()

    def of_person(self, person_id: str) -> Sequence[SavedRemark]:
        own = select(SavedRemarkRow).where(SavedRemarkRow.person_id == person_id)
        found = [SavedRemark(row.id, row.person_id, row.text) for row in self._session.scalars(own)]
        return sorted(found, key=lambda remark: (remark.text.casefold(), remark.id))

    def remove(self, person_id: str, remark_id: str) -> None:
        known = remark_id if remark_id.isprintable() else ""
        own = SavedRemarkRow.id == known, SavedRemarkRow.person_id == person_id
        if not self._session.scalar(select(exists().where(*own))):
            raise NotFoundError
        self._session.execute(delete(SavedRemarkRow).where(*own))


def _by(person_id: str) -> Any:
    return ReviewRow.reviewer_id == person_id


def _review_of(row: ReviewRow) -> Review:
    return Review(
        row.id,
        row.board_id,
        row.reviewer_id or "",
        row.name,
        row.made_at,
        row.decision,  # type: ignore[arg-type]
        row.advice,  # type: ignore[arg-type]
        row.check_id or "",
        row.picture,
        row.remarks,
        tuple(Mark(**mark) for mark in row.marks),
        row.seen_at,
        row.imported,
    )


def review_values(review: Review) -> dict[str, Any]:
    """The columns of a review."""
    values = asdict(review) | {"marks": [asdict(mark) for mark in review.marks]}
    board, check, reviewer = (values.pop(name) for name in ("board", "check", "reviewer"))
    return values | {"board_id": board, "check_id": check or None, "reviewer_id": reviewer or None}
