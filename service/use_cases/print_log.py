"""What is printed: one board on a page, and the boards of a period."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.domain.board import Board
from service.domain.check import Check, Pictures
from service.domain.log import Wanted
from service.domain.log_numbers import Logged
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.domain.practice_cuts import LoggedCuts
from service.domain.review import Review
from service.practice.entries import DrivenBoard, PracticeBoard
from service.practice.from_log import driven_boards, practice_board, practice_boards
from service.practice.pdf_board import labelled
from service.practice.pdf_cuts import PracticePage
from service.practice.pdf_review import Said
from service.practice.say import day_name
from service.texts import text
from service.use_cases.foretold import as_foretold, with_fits_of
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.solo import SOLO
from service.use_cases.who_may import board_to_see

MOST_PRINTED = 1000
"""Boards in one PDF: three a day for a year."""


@dataclass(frozen=True)
class BoardToPrint:
    """All that is printed of one board: its drawn result, or the picture that was marked, if it is still there."""

    board: PracticeBoard
    picture: bytes | None
    said: Said


@dataclass(frozen=True)
class CutsToPrint:
    """The same of a board of practice cuts."""

    board: PracticePage
    picture: bytes | None
    said: Said


@dataclass(frozen=True)
class PeriodToPrint:
    """Boards to print, from `start` to `end`, both days included; those `driven` as they were foretold.

    `cuts` are the boards of practice cuts, oldest first.
    """

    boards: Sequence[PracticeBoard]
    driven: Sequence[DrivenBoard]
    start: date
    end: date
    cuts: Sequence[LoggedCuts] = ()


def board_to_print(person: Person, board_id: str, ports: Ports) -> BoardToPrint | CutsToPrint:
    """A board that this person may see.

    Raises NotFoundError, also when neither an end of it is measured nor, without an end, practice cuts.
    """
    with ports.reading() as uow:
        board = board_to_see(board_id, person, uow)
        logged, owner = uow.log_numbers.of_board(board_id), uow.people.get(board.person)
        reviews = uow.reviews.of_board(board_id)
        newest = reviews[0] if reviews else None
        if logged is None:
            cuts = _measured_cuts(uow, board)
            page = _cuts_page(board, cuts, owner, person)
            return CutsToPrint(page, *_reviewed(_pictures(cuts), Said(), newest, ports))
        shown = practice_board(_with_fit_note(logged, board), signature(owner), uow.fits.of_board(board_id))
        check = _measured_check(uow, board_id)
        said = Said(corrected=_corrected(uow, check))
    return BoardToPrint(shown, *_reviewed(_pictures(check), said, newest, ports))


def period_to_print(person: Person, wanted: Wanted, ports: Ports) -> PeriodToPrint:
    """The measured boards wanted, the latest `MOST_PRINTED`, of practice cuts too; a period without any is today."""
    with ports.reading() as uow:
        log = uow.log_numbers.latest(wanted, MOST_PRINTED)
        boards = practice_boards(with_fits_of(uow, log), person.name)
        driven = driven_boards(as_foretold(uow, log), person.name)
        cuts = uow.practice_cuts.latest(wanted, MOST_PRINTED)
    days = [*(board.date for board in log), *(board.date for board in cuts)] or [ports.now().date()]
    return PeriodToPrint(boards, driven, wanted.since or min(days), wanted.until or max(days), cuts)


def signature(person: Person) -> str:
    """The name on a printed page: none for who works alone on their own computer and never gave one."""
    return "" if person.id == SOLO else person.name


def _with_fit_note(logged: Logged, board: Board) -> Logged:
    fitted = text("print.fitted", note=board.fit_note) if board.fit_note else ""
    return replace(logged, notes=" ".join(filter(None, (logged.notes, fitted))))


def _measured_check(uow: UnitOfWork, board_id: str) -> Check:
    """The measured end that the board's numbers are of."""
    measures = uow.measures.of_board(board_id)
    if measures is None:
        raise NotFoundError
    return uow.checks.get(measures.check)


def _measured_cuts(uow: UnitOfWork, board: Board) -> Check:
    """The newest measured practice cuts of a board that stands by them."""
    measured = [check for check in uow.checks.of_boards([board.id]) if check.work_on]
    if not board.work_on or not measured:
        raise NotFoundError
    return measured[-1]


def _cuts_page(board: Board, check: Check, owner: Person, reader: Person) -> PracticePage:
    details, answer = board.details, check.answer
    assert answer is not None
    told = labelled(details.species, details.saw, details.plan, board.assignment_title)
    words = answer.words[reader.units]
    return PracticePage(board.id, board.name, board.created.date(), signature(owner), told, details.notes, words)


def _pictures(check: Check) -> Pictures:
    return check.answer.pictures if check.answer else Pictures()


def _corrected(uow: UnitOfWork, check: Check) -> str:
    """Who placed the walls that the numbers are by, when and why; empty for the program's own."""
    standing = [each for each in uow.corrections.of_checks([check.id]) if each.stands] if check.corrected else []
    if not standing:
        return ""
    made = standing[-1]
    how = "corrected_own" if made.person == SOLO else "corrected"
    told = text(f"print.{how}", name=made.name or text("account.who_left"), when=day_name(made.made_at))
    return f"{told}: {made.why}" if made.why else f"{told}."


def _reviewed(now: Pictures, said: Said, review: Review | None, ports: Ports) -> tuple[bytes | None, Said]:
    """The newest review, and the picture that its marks are on; without that picture the comments alone."""
    if review is None:
        return _picture(now.overlay, ports), said
    name = review.name or text("account.who_left")
    how = "decision_import" if review.imported else "decision_own" if review.reviewer == SOLO else "decision"
    by = text(f"print.{how}", name=name, when=day_name(review.made_at))
    said = replace(said, by=by, decision=review.decision.capitalize(), remarks=review.remarks, marks=review.marks)
    said = replace(said, beside=text("print.beside", advice=review.advice))
    marked = _picture(review.picture, ports) if review.marks else None
    if marked is None:
        gone = text("print.picture_gone") if review.marks else ""
        return _picture(now.overlay, ports), replace(said, caption=gone, on_picture=False)
    caption = "" if review.picture in (now.overlay, now.screen) else text("print.earlier_picture")
    return marked, replace(said, caption=caption)


def _picture(name: str, ports: Ports) -> bytes | None:
    try:
        return ports.photos.read(name) if name else None
    except NotFoundError:
        return None
