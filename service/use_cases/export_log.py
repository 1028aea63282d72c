"""Everything of a person as JSON with its photos, or measurements and words as one table, however many boards."""

from __future__ import annotations

import base64
import csv
import io
import json
from collections.abc import Iterator, Set
from typing import Any

from service.domain.board import Board
from service.domain.correction_record import correction_record
from service.domain.log_record import FORMAT, VERSION, board_record, check_record, fit_record
from service.domain.measurement_table import COLUMNS, table_rows
from service.domain.mistakes import NotFoundError
from service.domain.review_record import review_record
from service.domain.together_record import together_record
from service.use_cases.keep_log import BoardView, look_at_board
from service.use_cases.ports import Ports


def export_json(person: str, ports: Ports) -> Iterator[str]:
    """One JSON object, in pieces: a line for its head, one for every board, one for its end."""
    head = {"format": FORMAT, "version": VERSION, "exported": ports.now().isoformat()}
    yield json.dumps(head)[:-1] + ', "boards": [\n'
    for number, record in enumerate(_records(person, ports)):
        yield ("," if number else "") + json.dumps(record) + "\n"
    yield "]}\n"


def export_csv(person: str, ports: Ports) -> Iterator[str]:
    """A table of all that was measured and said, a row for each wall, pin, cut, review and so on, lengths in mm.

    Its first line names the columns.
    """
    yield _lines([COLUMNS])
    for view in _views(person, ports):
        said = view.reviews, view.corrections
        yield _lines(table_rows(view.board, view.checks, view.fits, *said, view.together))


def _views(person: str, ports: Ports) -> Iterator[BoardView]:
    """Every board, oldest first; one that is deleted meanwhile is left out."""
    for board in _boards(person, ports):
        try:
            yield look_at_board(person, board.id, ports)
        except NotFoundError:
            continue


def _boards(person: str, ports: Ports) -> list[Board]:
    with ports.reading() as uow:
        return list(uow.boards.all_of(person))


def _records(person: str, ports: Ports) -> Iterator[dict[str, Any]]:
    """Every board with its files, oldest first: nothing that goes on meanwhile may break an answer off half way.

    A photo that is measured while it is read has other pictures then, so the board is read once more; what is missing
    even so is lost, and its name is left empty.
    """
    for board in _boards(person, ports):
        try:
            view = look_at_board(person, board.id, ports)
            files = _files(view, ports)
            if None in files.values():
                view = look_at_board(person, board.id, ports)
                files = _files(view, ports)
        except NotFoundError:
            continue
        lost = {name for name, data in files.items() if data is None}
        yield _emptied(_whole(view), lost) | {"files": {name: data for name, data in files.items() if data is not None}}


def _files(view: BoardView, ports: Ports) -> dict[str, str | None]:
    """By name what is stored for a board's checks and reviews, in letters; None for a file that is not there."""
    names = {name for check in view.checks for name in check.stored_names}
    names |= {review.picture for review in view.reviews if review.picture}
    names |= set(view.together.stored_names) if view.together else set()
    return {name: _file(name, ports) for name in sorted(names)}


def _file(name: str, ports: Ports) -> str | None:
    try:
        return base64.b64encode(ports.photos.read(name)).decode()
    except NotFoundError:
        return None


def _emptied(value: Any, names: Set[str]) -> Any:
    """A record with these names of files, which are like no other text, left empty."""
    if isinstance(value, dict):
        return {key: _emptied(each, names) for key, each in value.items()}
    if isinstance(value, list):
        return [_emptied(each, names) for each in value]
    return "" if isinstance(value, str) and value in names else value


def _whole(view: BoardView) -> dict[str, Any]:
    """A board's record; its files are named, not held."""
    checks, fits = [check_record(check) for check in view.checks], [fit_record(fit) for fit in view.fits]
    reviews = [review_record(review, view.board.person) for review in view.reviews]
    corrections = [correction_record(each, view.board.person) for each in view.corrections]
    said: dict[str, Any] = {"fits": fits, "corrections": corrections, "reviews": reviews}
    said |= {"together": None if view.together is None else together_record(view.together)}
    return board_record(view.board) | {"checks": checks} | said


def _lines(rows: list[list[str]]) -> str:
    file = io.StringIO()
    csv.writer(file).writerows(rows)
    return file.getvalue()
