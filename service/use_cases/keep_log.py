"""The practice log: looking, changing, measuring again, saying how it fitted, deleting."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from service.domain.assignment import Assignment
from service.domain.board import Board, Details, board_name
from service.domain.check import MEASURED_VIEWS, Check, Told, View
from service.domain.correction import Correction
from service.domain.edition import check_edition
from service.domain.fit import Fit, Outcome, fit_note
from service.domain.log import Choices, LogPage, Wanted
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Person, Units
from service.domain.review import Review
from service.domain.together import Together
from service.texts import text
from service.use_cases.answer_job import measure_again, refresh_board
from service.use_cases.forget_photos import forget_photos
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import board_to_change, board_to_see, check_to_change, check_to_see


@dataclass(frozen=True)
class BoardView:
    """A board with all that belongs to it, checks and fits in their order, and whose it is; the newest review first.

    `corrections` are those of its photos, oldest first; `together` is what the photos say together, if they do;
    `assignment` is the one it was handed in to, while there is one.
    """

    board: Board
    checks: Sequence[Check]
    fits: Sequence[Fit]
    owner: Person
    reviews: Sequence[Review] = ()
    corrections: Sequence[Correction] = ()
    together: Together | None = None
    assignment: Assignment | None = None


def look_at_log(wanted: Wanted, ports: Ports) -> tuple[LogPage, Choices]:
    """One page of the boards wanted, and what they can be narrowed to."""
    with ports.reading() as uow:
        return uow.boards.find(wanted), uow.boards.choices(wanted.person)


def look_at_days(wanted: Wanted, start: datetime, end: datetime, ports: Ports) -> tuple[Sequence[Board], Choices]:
    """The boards wanted that were begun from `start` to before `end`, oldest first; what they can be narrowed to."""
    with ports.reading() as uow:
        return uow.boards.between(wanted, start, end), uow.boards.choices(wanted.person)


def look_at_board(person: str, board_id: str, ports: Ports) -> BoardView:
    """A board that this person may see. Raises NotFoundError."""
    with ports.reading() as uow:
        board = board_to_see(board_id, uow.people.get(person), uow)
        owner = uow.people.get(board.person)
        return board_view(uow, board, owner)


def boards_of(person: str, board_ids: Iterable[str], ports: Ports) -> Sequence[Board]:
    """Those of these boards that are there and this person's own, each once."""
    found = []
    with ports.reading() as uow:
        for board_id in dict.fromkeys(board_ids):
            with suppress(NotFoundError):
                found.append(uow.boards.get(board_id))
    return [board for board in found if board.person == person]


def board_view(uow: UnitOfWork, board: Board, owner: Person) -> BoardView:
    """That board with what belongs to it, for whoever may have it."""
    checks, fits = uow.checks.of_boards([board.id]), uow.fits.of_board(board.id)
    corrections = uow.corrections.of_checks([check.id for check in checks])
    reviews, together = uow.reviews.of_board(board.id), uow.together.of_board(board.id)
    return BoardView(board, checks, fits, owner, reviews, corrections, together, assignment_of(uow, board))


def assignment_of(uow: UnitOfWork, board: Board) -> Assignment | None:
    """The assignment that a board was handed in to, while there is one."""
    try:
        return uow.assignments.get(board.assignment) if board.assignment else None
    except NotFoundError:
        return None


def look_at_check(person: str, check_id: str, ports: Ports) -> Check:
    """A check that this person may see. Raises NotFoundError."""
    with ports.reading() as uow:
        return check_to_see(check_id, uow.people.get(person), uow)


def thumbnail_of_board(person: str, board_id: str, ports: Ports) -> str:
    """The stored picture that stands for a board that this person may see. Raises NotFoundError."""
    with ports.reading() as uow:
        return board_to_see(board_id, uow.people.get(person), uow).thumbnail


def change_board(person: str, board_id: str, name: str, details: Details, ports: Ports, edition: str = "") -> Board:
    """Other name or details; photos whose answers rest on what changed are measured again.

    `edition` is that of the board as it was shown. Raises MistakeError, also when it was changed since, and
    NotFoundError.
    """
    with ports.unit_of_work() as uow:
        board = _own_board(uow, person, board_id)
        check_edition(edition, board.edition)
        uow.boards.put(replace(board, name=name_for(uow, name, board), details=details))
        changed = measure_board_again(uow, board_id, ports, _resting_on(board.details, details, ports))
        uow.commit()
    ports.runner.wake()
    return changed


def name_for(uow: UnitOfWork, wanted: str, board: Board) -> str:
    """The name to keep of that board, whether or not it is in the log yet: no day names two boards of one person.

    Raises MistakeError.
    """
    if wanted.strip():
        return board_name(wanted, board.created)
    start = datetime.combine(board.created, time.min, board.created.tzinfo)
    of_day = uow.boards.between(Wanted(board.person), start, start + timedelta(days=1))
    return board_name(wanted, board.created, {other.name for other in of_day if other.id != board.id})


def check_again(person: str, check_id: str, told: Told, ports: Ports, view: View | None = None) -> Check:
    """Measure a photo once more, with other settings, or as another `view`.

    Raises NotFoundError, and MistakeError while it still waits or when it is no photo to measure.
    """
    with ports.unit_of_work() as uow:
        check = _own_check(uow, person, check_id)
        if check.state == "waiting":
            raise MistakeError("check", "This photo is still being measured. Wait for its answer first.")
        if check.corrected:
            raise MistakeError("check", "Its walls were corrected by hand. Withdraw the correction first.")
        if not check.photo.name:
            raise MistakeError("check", text("board.photo_lost"))
        if check.view == "fit" or (view or check.view) not in MEASURED_VIEWS:
            raise MistakeError("view", "Say first what this photo shows: the end, practice cuts, or which face.")
        measure_again(uow, check, told, ports, view)
        refresh_board(uow, check.board)
        uow.commit()
    ports.runner.wake()
    return check.again(told, view)


def note_fits(
    person: str, board_id: str, outcomes: Mapping[int, Outcome], ports: Ports, note: str | None = None
) -> Sequence[Fit]:
    """How the sockets fitted, in place of what was said before, and a note on it, unless that is to stay as it is.

    What is said once more was said when it was said first. Raises MistakeError and NotFoundError.
    """
    fits = [Fit(socket, outcome, ports.now()) for socket, outcome in sorted(outcomes.items())]
    with ports.unit_of_work() as uow:
        board = _own_board(uow, person, board_id)
        before = {(fit.socket, fit.outcome): fit for fit in uow.fits.of_board(board_id)}
        fits = [before.get((fit.socket, fit.outcome), fit) for fit in fits]
        uow.fits.replace(board_id, fits)
        if note is not None:
            uow.boards.put(replace(board, fit_note=fit_note(note)))
        uow.commit()
    return fits


def note_fit(person: str, board_id: str, note: str, ports: Ports) -> Board:
    """How the driven joint fitted, in words. Raises MistakeError and NotFoundError."""
    with ports.unit_of_work() as uow:
        board = replace(_own_board(uow, person, board_id), fit_note=fit_note(note))
        uow.boards.put(board)
        uow.commit()
    return board


def delete_board(person: str, board_id: str, ports: Ports) -> None:
    """The board is gone, photos included. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        _own_board(uow, person, board_id)
        names = {name for check in uow.checks.of_boards([board_id]) for name in check.stored_names}
        names |= {review.picture for review in uow.reviews.of_board(board_id) if review.picture}
        names |= _drawn_together(uow, board_id)
        uow.boards.remove(board_id)
        uow.commit()
    forget_photos(names, ports)


def delete_check(person: str, check_id: str, ports: Ports) -> str:
    """One photo is gone; the id of its board, which stays. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        check = _own_check(uow, person, check_id)
        marked = {review.picture for review in uow.reviews.of_board(check.board) if review.check == check_id}
        marked |= _drawn_together(uow, check.board)
        uow.reviews.let_photo_go(check_id)
        uow.checks.remove(check_id)
        refresh_board(uow, check.board)
        uow.commit()
    forget_photos({*check.stored_names, *marked}, ports)
    return check.board


def who_is(person: str, ports: Ports) -> Person:
    """The person of that id. Raises NotFoundError."""
    with ports.reading() as uow:
        return uow.people.get(person)


def choose_units(person: str, units: Units, ports: Ports) -> Person:
    """Show lengths in these units from now on. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        changed = replace(uow.people.get(person), units=units)
        uow.people.put(changed)
        uow.commit()
    return changed


def _resting_on(before: Details, after: Details, ports: Ports) -> Sequence[View]:
    """The views whose answers rest on details that changed: faces are not judged, but measured by the same card.

    Practice cuts are not judged either, but a told thickness helps to measure them.
    """
    if before.print != after.print:
        return MEASURED_VIEWS
    ends: tuple[View, ...] = ("end",) if _matters(before, ports) != _matters(after, ports) else ()
    return (*ends, "drill") if before.thickness_mm != after.thickness_mm else ends


def _matters(details: Details, ports: Ports) -> tuple[str | float | None, ...]:
    """The details that an end's answer alone rests on: a plan only when one is kept by that name."""
    plan = details.plan if details.plan in ports.kept.plans() else ""
    return details.species, details.thickness_mm, plan


def measure_board_again(uow: UnitOfWork, board_id: str, ports: Ports, views: Sequence[View] = ("end",)) -> Board:
    """A board's photos of these views once more as things now are, answered or not; the board, brought up to date."""
    uow.boards.hold(board_id)
    for check in uow.checks.of_boards([board_id]):
        if check.view in views and check.photo.name:
            measure_again(uow, check, check.told, ports)
    return refresh_board(uow, board_id)


def _drawn_together(uow: UnitOfWork, board_id: str) -> set[str]:
    """Names of the pictures that the board's photos make together."""
    together = uow.together.of_board(board_id)
    return set(together.stored_names) if together else set()


def _own_board(uow: UnitOfWork, person: str, board_id: str) -> Board:
    return board_to_change(board_id, uow.people.get(person), uow)


def _own_check(uow: UnitOfWork, person: str, check_id: str) -> Check:
    return check_to_change(check_id, uow.people.get(person), uow)
