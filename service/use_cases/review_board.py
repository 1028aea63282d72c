"""A board is reviewed: what an instructor decides is written down beside what the tool advises, and stays there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from service.domain.board import Board
from service.domain.check import Check
from service.domain.mistakes import MistakeError
from service.domain.person import Person
from service.domain.review import Decision, Mark, Review
from service.texts import text
from service.use_cases.answer_job import refresh_board
from service.use_cases.keep_log import BoardView, board_view
from service.use_cases.ports import Ports
from service.use_cases.who_may import board_to_change, board_to_review, board_to_see


@dataclass(frozen=True)
class Judgement:
    """What a reviewer says. `marks` are on the stored `picture` of the photo `check`; without any both may be empty."""

    decision: Decision
    remarks: str = ""
    marks: tuple[Mark, ...] = ()
    check: str = ""
    picture: str = ""


def look_to_review(asking: Person, board_id: str, ports: Ports) -> BoardView:
    """A board that this person may judge, with all that belongs to it. Raises NotFoundError."""
    with ports.reading() as uow:
        board = board_to_review(board_id, asking, uow)
        return board_view(uow, board, uow.people.get(board.person))


def review_board(asking: Person, board_id: str, said: Judgement, ports: Ports) -> Review:
    """A new review; those before stay as they are, and so does the tool's advice.

    Raises NotFoundError, and MistakeError when the picture is no longer the one that was looked at.
    """
    with ports.unit_of_work() as uow:
        uow.lock_photos()
        board = board_to_review(board_id, asking, uow)
        _check_picture(said, uow.checks.of_boards([board_id]))
        about = ports.new_id(), board_id, asking.id, asking.name, ports.now()
        review = Review(*about, said.decision, board.standing, said.check, said.picture, said.remarks, said.marks)
        uow.reviews.add(review)
        refresh_board(uow, board_id)
        uow.commit()
    return review


def reviews_of(asking: Person, board_id: str, ports: Ports) -> Sequence[Review]:
    """Every review of a board that this person may see, the newest first. Raises NotFoundError."""
    with ports.reading() as uow:
        return uow.reviews.of_board(board_to_see(board_id, asking, uow).id)


def new_reviews(asking: Person, ports: Ports) -> Mapping[str, Board]:
    """This person's boards with a review that they did not say they saw, by id, the newest review first."""
    with ports.reading() as uow:
        return {board.id: board for board in uow.reviews.unseen_by(asking.id)}


def look_at_review(asking: Person, review_id: str, ports: Ports) -> Review:
    """A review of a board that this person may see. Raises NotFoundError."""
    with ports.reading() as uow:
        review = uow.reviews.get(review_id)
        board_to_see(review.board, asking, uow)
        return review


def note_seen(asking: Person, review_id: str, ports: Ports) -> Review:
    """The board's person saw the review; the first time counts. Raises NotFoundError for everybody else."""
    with ports.unit_of_work() as uow:
        review = uow.reviews.get(review_id)
        board_to_change(review.board, asking, uow)
        if review.seen_at is None:
            now = ports.now()
            uow.reviews.note_seen(review_id, now)
            review = replace(review, seen_at=now)
        uow.commit()
    return review


def _check_picture(said: Judgement, checks: Sequence[Check]) -> None:
    """Raise MistakeError unless the marks lie on a picture that one of the board's photos has now."""
    if not (said.check or said.picture or said.marks):
        return
    check = next((check for check in checks if check.id == said.check), None)
    pictures = check.answer.pictures if check is not None and check.answer is not None else None
    if pictures is None or said.picture not in (pictures.overlay, pictures.screen) or not said.picture:
        raise MistakeError("picture", text("review.other_picture"))
