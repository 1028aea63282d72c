"""Which boards wait for a review, the doubtful and the failing first, and in what portions they are shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.domain.board import Board, Standing
from service.domain.check import Check
from service.domain.review import Review

URGENCY: Mapping[Standing, int] = {
    "photograph again": 0,
    "refused": 0,
    "failed": 0,
    "start over": 1,
    "pare": 2,
    "transfer": 3,
    "practice cuts": 3,
}
"""Smaller is sooner. Who cannot go on without help comes first, then who is about to lose an end, then the rest."""

PAGE_SIZE = 12
MOST_COUNTED = 99
"""Beyond it the number says nothing more, and counting takes time on every page."""

Show = Literal["open", "reviewed"]


@dataclass(frozen=True)
class QueueWanted:
    """The boards that somebody may review, narrowed: those handed in to these classes or, with `people`, theirs that
    were not. `assignment` and `student` are ids.
    """

    classrooms: tuple[str, ...] = ()
    people: tuple[str, ...] | None = None
    assignment: str = ""
    student: str = ""
    show: Show = "open"
    page: int = 1


def with_review(board: Board, checks: Sequence[Check], reviews: Sequence[Review]) -> Board:
    """The board with its newest decision, and its place in the queue if it waits for another.

    What an import brought is history: it decides nothing, for anybody may have written it. Who has left still counts.
    """
    made_here = [review for review in reviews if not review.imported]
    newest = max(made_here, key=lambda review: (review.made_at, review.id), default=None)
    rank = None if newest is not None and _settles(newest, board, checks) else URGENCY.get(board.standing)
    if newest is None:
        return replace(board, decision="", reviewed_at=None, review_rank=rank)
    return replace(board, decision=newest.decision, reviewed_at=newest.made_at, review_rank=rank)


def _settles(review: Review, board: Board, checks: Sequence[Check]) -> bool:
    """Whether the review still says all: the tool's advice is the same, nothing was sent or handed in since."""
    later = [check for check in checks if check.sent_at > review.made_at]
    handed_in_later = board.handed_in is not None and board.handed_in > review.made_at
    return review.advice == board.standing and not later and not handed_in_later
