"""The practice log: looking, changing, measuring again, saying how it fitted, deleting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from service.domain.board import Board, Details, board_name
from service.domain.check import Check, Told
from service.domain.fit import Fit, Outcome
from service.domain.job import Job
from service.domain.log import Choices, LogPage, Wanted
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Person, Units
from service.use_cases.answer_job import refresh_board
from service.use_cases.forget_photos import forget_photos
from service.use_cases.ports import Ports, UnitOfWork


@dataclass(frozen=True)
class BoardView:
    """A board with all that belongs to it, checks and fits in their order."""

    board: Board
    checks: Sequence[Check]
    fits: Sequence[Fit]


def look_at_log(wanted: Wanted, ports: Ports) -> tuple[LogPage, Choices]:
    """One page of the boards wanted, and what they can be narrowed to."""
    with ports.reading() as uow:
        return uow.boards.find(wanted), uow.boards.choices(wanted.person)


def look_at_board(person: str, board_id: str, ports: Ports) -> BoardView:
    """A board of this person. Raises NotFoundError."""
    with ports.reading() as uow:
        board = _own_board(uow, person, board_id)
        return BoardView(board, uow.checks.of_boards([board_id]), uow.fits.of_board(board_id))


def look_at_check(person: str, check_id: str, ports: Ports) -> Check:
    """A check of this person. Raises NotFoundError."""
    with ports.reading() as uow:
        return _own_check(uow, person, check_id)


def change_board(person: str, board_id: str, name: str, details: Details, ports: Ports) -> Board:
    """Other name or details; when those change that the verdict rests on, its ends are measured again.

    Raises MistakeError and NotFoundError.
    """
    with ports.unit_of_work() as uow:
        board = _own_board(uow, person, board_id)
        uow.boards.put(replace(board, name=board_name(name, board.created), details=details))
        if _matters(board.details) != _matters(details):
            for check in uow.checks.of_boards([board_id]):
                _measure_again(uow, check, check.told, ports)
        changed = refresh_board(uow, board_id)
        uow.commit()
    ports.runner.wake()
    return changed


def check_again(person: str, check_id: str, told: Told, ports: Ports) -> Check:
    """Measure a photo once more, with other settings. Raises NotFoundError, and MistakeError while it still waits."""
    with ports.unit_of_work() as uow:
        check = _own_check(uow, person, check_id)
        if check.state == "waiting":
            raise MistakeError("check", "This photo is still being measured. Wait for its answer first.")
        _measure_again(uow, check, told, ports)
        refresh_board(uow, check.board)
        uow.commit()
    ports.runner.wake()
    return check.again(told)


def note_fits(person: str, board_id: str, outcomes: Mapping[int, Outcome], ports: Ports) -> Sequence[Fit]:
    """How the sockets fitted, in place of what was said before. Raises MistakeError and NotFoundError."""
    fits = [Fit(socket, outcome, ports.now()) for socket, outcome in sorted(outcomes.items())]
    with ports.unit_of_work() as uow:
        _own_board(uow, person, board_id)
        uow.fits.replace(board_id, fits)
        uow.commit()
    return fits


def delete_board(person: str, board_id: str, ports: Ports) -> None:
    """The board is gone, photos included. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        _own_board(uow, person, board_id)
        checks = uow.checks.of_boards([board_id])
        uow.boards.remove(board_id)
        uow.commit()
    forget_photos((name for check in checks for name in check.stored_names), ports)


def delete_check(person: str, check_id: str, ports: Ports) -> str:
    """One photo is gone; the id of its board, which stays. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        check = _own_check(uow, person, check_id)
        uow.checks.remove(check_id)
        refresh_board(uow, check.board)
        uow.commit()
    forget_photos(check.stored_names, ports)
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


def _matters(details: Details) -> tuple[str, float | None]:
    """The details that a verdict rests on."""
    return details.species, details.thickness_mm


def _measure_again(uow: UnitOfWork, check: Check, told: Told, ports: Ports) -> None:
    """A new job for an end that has its answer; one that still waits will be measured as things now are."""
    if check.view == "end" and check.state != "waiting":
        uow.checks.put(check.again(told))
        uow.jobs.add(Job(ports.new_id(), check.id, ports.now()))


def _own_board(uow: UnitOfWork, person: str, board_id: str) -> Board:
    board = uow.boards.get(board_id)
    if board.person != person:
        raise NotFoundError
    return board


def _own_check(uow: UnitOfWork, person: str, check_id: str) -> Check:
    check = uow.checks.get(check_id)
    if check.person != person:
        raise NotFoundError
    return check
