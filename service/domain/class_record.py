"""A class with what was handed in to it as plain data: for a gradebook, a spreadsheet, another program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from service.domain.assignment import Assignment
from service.domain.board import Board
from service.domain.classroom import Classroom, Membership
from service.domain.measurement_table import harmless
from service.domain.measures import Measures
from service.domain.person import Person

FORMAT, VERSION = "tailproof-class", 1
_NUMBERS = (
    "stage width_mm thickness_mm walls lean_deg abs_lean_deg lean_u_deg left_lean_deg right_lean_deg spread_deg"
    " out_of_square_mm worst_out_of_square_mm sockets taper_mm abs_taper_mm worst_taper_mm worst_gap_mm"
    " worst_squeeze_mm gap_limit_mm seats loose splitting too_close_to_call"
)
NUMBERS = tuple(_NUMBERS.split())
OF_BOARD = ["student", "assignment", "due", "handed_in", "late", "board", "name", "begun", "species", "saw", "standing"]
DECIDED = ["decision", "decided"]
COLUMNS = [*OF_BOARD, *DECIDED, *NUMBERS]
"""Of the table: a row for every board. `standing` is the advice of its newest measured end, `decision` that of its
newest review; `u` is standard."""


def class_record(classroom: Classroom) -> dict[str, Any]:
    """A class without its join code, which is nobody else's business."""
    return {"id": classroom.id, "name": classroom.name, "created": classroom.created.isoformat()}


def member_record(person: Person, membership: Membership) -> dict[str, Any]:
    """A person in a class."""
    named = {"id": person.id, "name": person.name, "as": membership.as_}
    return named | {"joined": membership.joined.isoformat(), "shows_all": membership.shows_all}


def assignment_record(assignment: Assignment) -> dict[str, Any]:
    """An assignment."""
    due = assignment.due.isoformat() if assignment.due else None
    return asdict(assignment) | {"created": assignment.created.isoformat(), "due": due}


def handed_in_record(board: Board, assignment: Assignment, numbers: Measures | None) -> dict[str, Any]:
    """A board that was handed in, with its numbers."""
    when = board.handed_in or board.created
    handed_in = {"handed_in": when.isoformat(), "late": assignment.is_late(when)}
    named = {"id": board.id, "student": board.person, "assignment": assignment.id, "name": board.name}
    said = {"begun": board.created.isoformat(), "species": board.details.species, "saw": board.details.saw}
    told = {name: getattr(numbers, name) for name in NUMBERS} if numbers else None
    decided = {"decision": board.decision, "decided": board.reviewed_at.isoformat() if board.reviewed_at else None}
    return named | handed_in | said | {"standing": board.standing} | decided | {"numbers": told}


def handed_in_row(record: Mapping[str, Any], student: str, assignment: Assignment) -> list[str]:
    """A row of the table, in the order of `COLUMNS`, from that record."""
    due = assignment.due.isoformat() if assignment.due else None
    named = {"student": harmless(student), "assignment": harmless(assignment.title), "due": due, "board": record["id"]}
    typed = {name: harmless(record[name]) for name in ("name", "species", "saw")}
    late = {"late": "yes" if record["late"] else "no"}
    values = dict(record) | named | typed | late | (record["numbers"] or {})
    return ["" if values.get(name) is None else str(values[name]) for name in COLUMNS]
