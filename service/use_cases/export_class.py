"""A class exported: as a table of all boards that were handed in, and as JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from typing import Any

from service.domain.assignment import Assignment
from service.domain.class_record import (
    COLUMNS,
    FORMAT,
    VERSION,
    assignment_record,
    class_record,
    handed_in_record,
    handed_in_row,
    member_record,
)
from service.domain.person import Person
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import class_to_run


def export_class_csv(asking: Person, classroom_id: str, ports: Ports) -> Iterator[str]:
    """A row for every board handed in, oldest first. Raises NotFoundError before the first line."""
    with ports.reading() as uow:
        class_to_run(classroom_id, asking, uow)
    return _table(classroom_id, ports)


def export_class_json(asking: Person, classroom_id: str, ports: Ports) -> Iterator[str]:
    """The class, its people, assignments and boards with their numbers, a board a line. Raises NotFoundError."""
    with ports.reading() as uow:
        opening = {"format": FORMAT, "version": VERSION, "class": class_record(class_to_run(classroom_id, asking, uow))}
        opening |= {"members": [member_record(*each) for each in uow.classes.members(classroom_id)]}
        opening |= {"assignments": [assignment_record(each) for each in uow.assignments.of_class(classroom_id)]}
    return _lines(json.dumps(opening, allow_nan=False), classroom_id, ports)


def _table(classroom_id: str, ports: Ports) -> Iterator[str]:
    yield _line(COLUMNS)
    with ports.reading() as uow:
        names = {person.id: person.name for person, _ in uow.classes.members(classroom_id)}
        for record, assignment in _records(uow, classroom_id):
            yield _line(handed_in_row(record, names.get(record["student"], ""), assignment))


def _lines(opening: str, classroom_id: str, ports: Ports) -> Iterator[str]:
    yield f'{opening[:-1]}, "boards": [\n'
    with ports.reading() as uow:
        for number, (record, _) in enumerate(_records(uow, classroom_id)):
            yield f"{',' if number else ''}{json.dumps(record, allow_nan=False)}\n"
    yield "]}\n"


def _records(uow: UnitOfWork, classroom_id: str) -> Iterator[tuple[dict[str, Any], Assignment]]:
    work = {assignment.id: assignment for assignment in uow.assignments.of_class(classroom_id)}
    for board, numbers in uow.handed_in.of_class(classroom_id):
        assignment = work.get(board.assignment)
        if assignment is not None:  # one that was deleted meanwhile
            yield handed_in_record(board, assignment, numbers), assignment


def _line(row: list[str]) -> str:
    file = io.StringIO()
    csv.writer(file).writerow(row)
    return file.getvalue()
