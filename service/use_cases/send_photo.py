"""A photo comes in: onto the disk, then board, check and job in one transaction; only then is it accepted."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace

from service.domain.assignment import handed_in
from service.domain.board import Board, Details, standing_of
from service.domain.check import Check, StoredPhoto, Told, View
from service.domain.job import Job
from service.domain.mistakes import NotFoundError, chosen_in
from service.use_cases.keep_log import name_for
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import assignment_to_hand_in_to


@dataclass(frozen=True)
class Sending:
    """A photo as sent: to the board of that id, else to a new one of that name with those details.

    A new board is handed in to that `assignment`, if any.
    """

    data: bytes
    board: str = ""
    name: str = ""
    details: Details | None = None
    view: View = "end"
    told: Told = field(default_factory=Told)
    assignment: str = ""


def send_photo(person: str, sending: Sending, ports: Ports) -> tuple[Check, bool]:
    """The photo's check, and whether the same photo had been sent before: then nothing is stored or measured anew.

    Raises CannotMeasure for bytes that are no photo to measure, MistakeError, and NotFoundError for another's board.
    """
    digest = hashlib.sha256(sending.data).hexdigest()
    known = _known(person, digest, ports)
    if known is not None:
        return known, True
    cleaned, kind = ports.clean(sending.data)
    with ports.unit_of_work() as uow:
        uow.lock_photos()
        twin = uow.checks.of_photo(person, digest)
        if twin is not None:
            return twin, True
        photo = ports.photos.put(cleaned, kind)
        check = _accept(uow, person, digest, photo, sending, ports)
        uow.commit()
    ports.runner.wake()
    return check, False


def new_board(person: str, name: str, details: Details | None, ports: Ports, assignment: str = "") -> Board:
    """A board without photos yet. Raises MistakeError, and NotFoundError for an assignment that is not open to them."""
    with ports.unit_of_work() as uow:
        board = _new_board(uow, person, name, details, ports, assignment)
        uow.commit()
    return board


def _known(person: str, digest: str, ports: Ports) -> Check | None:
    with ports.reading() as uow:
        return uow.checks.of_photo(person, digest)


def _accept(uow: UnitOfWork, person: str, digest: str, photo: StoredPhoto, sending: Sending, ports: Ports) -> Check:
    """Board, check and job as rows, not committed yet."""
    board = _board(uow, person, sending, ports)
    check = Check(ports.new_id(), board.id, person, photo, digest, ports.now(), sending.view, sending.told)
    uow.checks.add(check)
    uow.jobs.add(Job(ports.new_id(), check.id, ports.now()))
    uow.boards.put(replace(board, standing=standing_of(uow.checks.of_boards([board.id]))))
    return check


def _board(uow: UnitOfWork, person: str, sending: Sending, ports: Ports) -> Board:
    if not sending.board:
        return _new_board(uow, person, sending.name, sending.details, ports, sending.assignment)
    with chosen_in("board"):
        board = uow.boards.hold(sending.board)
        if board.person != person:
            raise NotFoundError
        return board


def _new_board(
    uow: UnitOfWork, person_id: str, name: str, details: Details | None, ports: Ports, assignment: str
) -> Board:
    """A new board; saw, print and wood, unless an assignment's, are remembered for the next, all else is its own."""
    person = uow.people.get(person_id)
    kept = person.remembered if details is None else details
    board = Board(ports.new_id(), person_id, "", ports.now(), kept)
    board = replace(board, name=name_for(uow, name, board))
    species = kept.species
    if assignment:
        wanted = assignment_to_hand_in_to(assignment, person, uow)
        board = handed_in(board, wanted, ports.now())
        species = person.remembered.species if species == wanted.species else species
    uow.boards.add(board)
    remembered = replace(kept, species=species, thickness_mm=None, plan="", notes="")
    uow.people.put(replace(person, remembered=remembered))
    return board
