"""What is printed: one board on a page, and the boards of a period."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.domain.board import Board
from service.domain.log import Wanted
from service.domain.log_numbers import Logged
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.practice.entries import PracticeBoard
from service.practice.from_log import practice_board, practice_boards
from service.texts import text
from service.use_cases.look_at_outcomes import with_fits_of
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import board_to_see

MOST_PRINTED = 1000
"""Boards in one PDF: three a day for a year."""


@dataclass(frozen=True)
class BoardToPrint:
    """All that is printed of one board: its drawn result, if it is still there, and what its newest review says."""

    board: PracticeBoard
    picture: bytes | None
    remarks: Sequence[str]


@dataclass(frozen=True)
class PeriodToPrint:
    """Boards to print, from `start` to `end`, both days included."""

    boards: Sequence[PracticeBoard]
    start: date
    end: date


def board_to_print(person: Person, board_id: str, ports: Ports) -> BoardToPrint:
    """A board that this person may see. Raises NotFoundError, also when no end of it is measured."""
    with ports.reading() as uow:
        board = board_to_see(board_id, person, uow)
        logged, owner = uow.log_numbers.of_board(board_id), uow.people.get(board.person)
        if logged is None:
            raise NotFoundError
        shown = practice_board(_with_fit_note(logged, board), owner.name, uow.fits.of_board(board_id))
        name, remarks = _overlay(uow, board_id), _remarks(uow, board_id)
    return BoardToPrint(shown, _picture(name, ports), remarks)


def period_to_print(person: Person, wanted: Wanted, ports: Ports) -> PeriodToPrint:
    """The measured boards wanted, the latest `MOST_PRINTED`; a period without any begins today."""
    with ports.reading() as uow:
        log = uow.log_numbers.latest(wanted, MOST_PRINTED)
        boards = practice_boards(with_fits_of(uow, log), person.name)
    today = ports.now().date()
    first = log[0].date if log else today
    return PeriodToPrint(boards, wanted.since or first, wanted.until or today)


def _with_fit_note(logged: Logged, board: Board) -> Logged:
    fitted = text("print.fitted", note=board.fit_note) if board.fit_note else ""
    return replace(logged, notes=" ".join(filter(None, (logged.notes, fitted))))


def _overlay(uow: UnitOfWork, board_id: str) -> str:
    """The stored picture of the measured end that the board's numbers are of."""
    measures = uow.measures.of_board(board_id)
    answer = uow.checks.get(measures.check).answer if measures else None
    return answer.pictures.overlay if answer else ""


def _remarks(uow: UnitOfWork, board_id: str) -> list[str]:
    """The newest decision, its remarks, and that there are marks, which only the log shows."""
    reviews = uow.reviews.of_board(board_id)
    if not reviews:
        return []
    newest = reviews[0]
    marks = text("print.marks", count=len(newest.marks)) if newest.marks else ""
    return [said for said in (f"{newest.decision}.", newest.remarks, marks) if said.strip()]


def _picture(name: str, ports: Ports) -> bytes | None:
    try:
        return ports.photos.read(name) if name else None
    except NotFoundError:
        return None
