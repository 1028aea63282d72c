"""A second opinion on the walls of a measured photo: given, measured by, seen beside the original, withdrawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.domain.board import Board
from service.domain.check import Check
from service.domain.correction import Correction, lines_of, row_of
from service.domain.job import Job
from service.domain.mistakes import MistakeError, NotAllowedError, NotFoundError
from service.domain.person import Person
from service.domain.wall_line import WallLine
from service.texts import text
from service.use_cases.answer_job import measure_again, refresh_board
from service.use_cases.forget_photos import forget_photos
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import check_to_correct, check_to_see, may_review


@dataclass(frozen=True)
class WallsView:
    """A measured photo's lines, from left to right, and what was corrected of them so far, oldest first."""

    board: Board
    check: Check
    lines: Sequence[WallLine]
    corrections: Sequence[Correction]


def look_at_walls(person: str, check_id: str, ports: Ports) -> WallsView:
    """The lines of a photo that this person may correct. Raises NotFoundError."""
    with ports.reading() as uow:
        check = check_to_correct(check_id, uow.people.get(person), uow)
        return WallsView(uow.boards.get(check.board), check, lines_of(check), uow.corrections.of_checks([check_id]))


def look_at_corrections(person: str, check_id: str, ports: Ports) -> Sequence[Correction]:
    """The corrections of a photo that this person may see, oldest first. Raises NotFoundError."""
    with ports.reading() as uow:
        check_to_see(check_id, uow.people.get(person), uow)
        return uow.corrections.of_checks([check_id])


def may_correct(person: str, check_id: str, ports: Ports) -> bool:
    """Whether this person may correct the photo's walls now, or take back how they were corrected."""
    with ports.reading() as uow:
        try:
            asking = uow.people.get(person)
            return _may_end(uow, check_to_correct(check_id, asking, uow), asking)
        except NotFoundError:
            return False


def correct_walls(person: str, check_id: str, wanted: Sequence[WallLine], why: str, ports: Ports) -> Correction:
    """Measure a photo once more by the walls as this person has them; its own answer is kept beside.

    Raises NotFoundError, NotAllowedError in place of an instructor's correction, and MistakeError for a row of walls
    that cannot be one, or a photo without lines to correct.
    """
    with ports.unit_of_work() as uow:
        asking = uow.people.get(person)
        check = _check_to_change(uow, check_id, asking)
        row = row_of(_lines(check), wanted)
        correction = Correction(ports.new_id(), check_id, asking.id, asking.name, ports.now(), row, why.strip())
        _end_standing(uow, check, asking, "replaced", ports)
        uow.corrections.add(correction)
        uow.checks.put(check.corrected_to(row))
        uow.jobs.add(Job(ports.new_id(), check_id, ports.now()))
        refresh_board(uow, check.board)
        uow.commit()
    ports.runner.wake()
    return correction


def withdraw_correction(person: str, check_id: str, ports: Ports) -> Check:
    """The photo as the program answered it by itself; measured anew if what that rested on has changed since.

    Raises NotFoundError, NotAllowedError for a student whose instructor made the correction, and MistakeError.
    """
    with ports.unit_of_work() as uow:
        asking = uow.people.get(person)
        check = _check_to_change(uow, check_id, asking)
        if not check.corrected:
            raise MistakeError("check", text("correct.nothing_to_withdraw"))
        _end_standing(uow, check, asking, "withdrawn", ports)
        _restore(uow, check, ports)
        refresh_board(uow, check.board)
        uow.commit()
    forget_photos(check.stored_names, ports)
    ports.runner.wake()
    return check.uncorrected()


def _restore(uow: UnitOfWork, check: Check, ports: Ports) -> None:
    uow.checks.put(check.uncorrected())
    if check.original_outdated and check.photo.name:
        measure_again(uow, check.uncorrected(), check.uncorrected().told, ports)


def _check_to_change(uow: UnitOfWork, check_id: str, asking: Person) -> Check:
    """A photo whose walls this person may change now, its board held."""
    uow.boards.hold(check_to_correct(check_id, asking, uow).board)
    check = uow.checks.get(check_id)
    if not _may_end(uow, check, asking):
        raise NotAllowedError
    if check.state == "waiting":
        raise MistakeError("check", text("correct.still_waits"))
    return check


def _may_end(uow: UnitOfWork, check: Check, asking: Person) -> bool:
    """Whoever judges the board may end any correction, everybody else their own alone."""
    standing = (each for each in uow.corrections.of_checks([check.id]) if each.stands)
    own = all(correction.person in ("", asking.id) for correction in standing)
    return own or may_review(check.board, asking, uow)


def _lines(check: Check) -> Sequence[WallLine]:
    """The lines that a photo's answer rests on. Raises MistakeError when nothing could be measured by others."""
    if not check.photo.name:
        raise MistakeError("check", text("board.photo_lost"))
    lines = lines_of(check)
    if not lines:
        raise MistakeError("check", text("correct.no_lines"))
    return lines


def _end_standing(
    uow: UnitOfWork, check: Check, asking: Person, state: Literal["replaced", "withdrawn"], ports: Ports
) -> None:
    for correction in uow.corrections.of_checks([check.id]):
        if correction.stands:
            uow.corrections.put(correction.ended(state, asking, ports.now()))
