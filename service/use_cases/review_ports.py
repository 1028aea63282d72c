"""What the use cases of reviews need of storage; part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from service.domain.board import Board
from service.domain.log import LogPage
from service.domain.review import Review
from service.domain.review_queue import QueueWanted
from service.domain.saved_remark import SavedRemark


class Reviews(Protocol):
    """Reviews by id; none is ever changed, but for when it was seen and who left. A removed board takes them along."""

    def add(self, review: Review) -> None: ...
    def get(self, review_id: str) -> Review:
        """Raises NotFoundError."""

    def has(self, review_id: str) -> bool: ...
    def of_board(self, board_id: str) -> Sequence[Review]:
        """Newest first."""

    def of_owner(self, person_id: str) -> Sequence[Review]:
        """Those of all boards of this person, in no order."""

    def unseen_by(self, person_id: str) -> Sequence[Board]:
        """Boards of this person whose newest review, by somebody else, they did not say they saw; newest review first.

        Of the boards reviewed last alone, so that no page's time grows with the log.
        """

    def forget(self, person_id: str) -> None:
        """Take the person's name and id out of all reviews: what they decided stays."""

    def has_any_by(self, person_id: str) -> bool: ...
    def note_seen(self, review_id: str, seen_at: datetime) -> None: ...
    def let_photo_go(self, check_id: str) -> None:
        """Reviews of that photo keep their words and lose the picture."""


class ReviewQueue(Protocol):
    """Boards in the order in which they are to be reviewed, or newest reviewed first."""

    def find(self, wanted: QueueWanted) -> LogPage: ...
    def count(self, wanted: QueueWanted, most: int) -> int:
        """How many wait, counted up to one more than `most`."""

    def beside(self, wanted: QueueWanted, board: Board) -> tuple[str, str]:
        """Ids of the boards before and after that one, whether or not it is still among them; empty for none."""


class SavedRemarks(Protocol):
    """What somebody keeps to say again."""

    def add(self, remark: SavedRemark) -> None: ...
    def of_person(self, person_id: str) -> Sequence[SavedRemark]:
        """By text."""

    def remove(self, person_id: str, remark_id: str) -> None:
        """Raises NotFoundError, also for somebody else's."""
