"""An export brought back: boards that are here already stay as they are."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import IO, Any

from calibration.outcome import CannotMeasure
from service.domain.board import Board
from service.domain.check import Check
from service.domain.correction_record import correction_from_record
from service.domain.job import Job
from service.domain.log_record import FORMAT, VERSION, board_from_record, check_from_record, fits_from_record
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.review_record import review_from_record
from service.domain.together_record import together_from_record
from service.texts import text
from service.use_cases.answer_job import refresh_board
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.solo import SOLO

DAMAGE = (KeyError, TypeError, ValueError, AttributeError, OverflowError, binascii.Error)
JPEG = b"\xff\xd8\xff"
MOST_AT_ONCE_BYTES = 400_000_000
"""Of a line of an export, which is one board, held in memory as a whole: some sixty photos with their pictures."""


@dataclass(frozen=True)
class Brought:
    """What came back: new boards and photos, and boards that were here."""

    boards: int = 0
    checks: int = 0
    known: int = 0

    def plus(self, checks: int | None) -> Brought:
        """With one more board of so many photos; None for one that was here."""
        if checks is None:
            return replace(self, known=self.known + 1)
        return replace(self, boards=self.boards + 1, checks=self.checks + checks)


def import_log(person: str, file: IO[bytes], ports: Ports) -> Brought:
    """All boards of an export, each in a transaction of its own. Raises MistakeError for a file that is no export."""
    brought = Brought()
    for number, record in enumerate(_records(file), start=1):
        try:
            brought = brought.plus(_import_board(person, record, ports))
        except (*DAMAGE, MistakeError, CannotMeasure) as error:
            what = f"{type(error).__name__}: {error}" if isinstance(error, DAMAGE) else str(error)
            raise MistakeError("file", text("error.import_damaged", number=number, what=what[:200])) from error
    ports.runner.wake()
    return brought


def _records(file: IO[bytes]) -> Iterator[Mapping[str, Any]]:
    """The boards of an export, one after the other: line by line as we write them, so that no file is too large."""
    try:
        head = _bounded(file.readline, "error.import_in_one_piece")
        by_lines = head.rstrip().endswith("[")
        yield from _checked(json.loads(head + ("]}" if by_lines else _bounded(file.read, "error.import_in_one_piece"))))
        for number in count(2):
            line = _bounded(file.readline, "error.import_long_line", number=number)
            if not line:
                return
            body = line.strip().removeprefix(",")
            if body and body != "]}":
                yield json.loads(body)
    except (ValueError, RecursionError) as error:
        raise MistakeError("file", text("error.import_not_ours")) from error


def _bounded(read: Callable[[int], bytes], too_long: str, **told: int) -> str:
    """What is read of a file at once. Raises MistakeError, in the words of that name, where it is more than a board."""
    data = read(MOST_AT_ONCE_BYTES + 1)
    if len(data) > MOST_AT_ONCE_BYTES:
        raise MistakeError("file", text(too_long, megabytes=MOST_AT_ONCE_BYTES // 1_000_000, **told))
    return data.decode()


def _checked(opening: Any) -> Iterator[Mapping[str, Any]]:
    """The boards that the head itself holds, once it is known for an export that we can read."""
    if not isinstance(opening, dict) or opening.get("format") != FORMAT or not isinstance(opening.get("boards"), list):
        raise MistakeError("file", text("error.import_not_ours"))
    if not isinstance(opening.get("version"), int) or opening["version"] > VERSION:
        raise MistakeError("file", text("error.import_newer"))
    yield from opening["boards"]


def _import_board(person: str, record: Mapping[str, Any], ports: Ports) -> int | None:
    """How many photos the board brought; None when it was here."""
    board = board_from_record(record, person)
    with ports.unit_of_work() as uow:
        uow.lock_photos()
        board = _renamed(board, _holder(uow, board.id), ports)
        if _holder(uow, board.id) == person:
            return None
        uow.boards.add(board)
        names = _store_files(record["files"], ports)
        checks = dict(_import_check(uow, each, board, names, ports) for each in record["checks"])
        _import_corrections(uow, record.get("corrections", []), checks, ports)
        _import_reviews(uow, record.get("reviews", []), board, checks, names, ports)
        _import_together(uow, record.get("together"), board, checks, names)
        uow.fits.replace(board.id, fits_from_record(record["fits"]))
        refresh_board(uow, board.id)
        uow.commit()
    return sum(map(bool, checks.values()))


def _holder(uow: UnitOfWork, board_id: str) -> str:
    """Whose board of that id there is; empty for nobody's."""
    try:
        return uow.boards.get(board_id).person
    except NotFoundError:
        return ""


def _renamed(board: Board, holder: str, ports: Ports) -> Board:
    """The board under a new id when somebody else's has the same."""
    return replace(board, id=ports.new_id()) if holder not in ("", board.person) else board


def _store_files(files: Mapping[str, str], ports: Ports) -> dict[str, str]:
    """Old name to the name that each file has now: photos are cleaned like any upload, pictures are our own JPEGs.

    A file that was lost before the export has no name, then as now.
    """
    names = {"": ""}
    for name, encoded in files.items():
        data = base64.b64decode(encoded, validate=True)
        names[name] = _stored(data, ports)
    return names


def _stored(data: bytes, ports: Ports) -> str:
    try:
        return ports.photos.put(*ports.clean(data)).name
    except CannotMeasure as error:
        if error.refusal.reason != "image_too_small" or not data.startswith(JPEG):
            raise
        return ports.photos.put(data, "JPEG").name


def _import_check(
    uow: UnitOfWork, record: Mapping[str, Any], board: Board, names: Mapping[str, str], ports: Ports
) -> tuple[str, str]:
    """Add one check unless this person has one of the same photo; its id as it was and as it is, empty if not added.

    One that waits gets a job.
    """
    check = check_from_record(record, board, names)
    known_as = check.id
    if uow.checks.of_photo(board.person, check.sent_sha256) is not None:
        return known_as, ""
    check = replace(check, id=ports.new_id()) if _is_taken(uow, check) else check
    uow.checks.add(check)
    if check.state == "waiting":
        uow.jobs.add(Job(ports.new_id(), check.id, ports.now()))
    return known_as, check.id


def _import_together(
    uow: UnitOfWork,
    record: Mapping[str, Any] | None,
    board: Board,
    checks: Mapping[str, str],
    names: Mapping[str, str],
) -> None:
    """What the photos said together, if all of them came along; else they are put together anew."""
    if record is not None:
        uow.together.put(together_from_record(record, board.id, checks, names, uow.checks.of_boards([board.id])))


def _import_reviews(
    uow: UnitOfWork,
    records: Sequence[Mapping[str, Any]],
    board: Board,
    checks: Mapping[str, str],
    names: Mapping[str, str],
    ports: Ports,
) -> None:
    """What was decided about the board, with the marks on the pictures of photos that came along."""
    for record in records:
        alone = board.person == SOLO
        review = review_from_record(record, board, checks, names, ports.now(), alone=alone)
        uow.reviews.add(replace(review, id=ports.new_id()) if uow.reviews.has(review.id) else review)


def _import_corrections(
    uow: UnitOfWork, records: Sequence[Mapping[str, Any]], checks: Mapping[str, str], ports: Ports
) -> None:
    """Who corrected the walls of photos that came along."""
    for record in records:
        check_id = checks.get(record["check"], "")
        if check_id:
            check = uow.checks.get(check_id)
            correction = correction_from_record(record, check, ports.now(), alone=check.person == SOLO)
            taken = uow.corrections.has(correction.id)
            uow.corrections.add(replace(correction, id=ports.new_id()) if taken else correction)


def _is_taken(uow: UnitOfWork, check: Check) -> bool:
    try:
        uow.checks.get(check.id)
    except NotFoundError:
        return False
    return True
