"""A database as a school has it after years: people, classes, and so many measured boards, put in all at once."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from operator import attrgetter
from pathlib import Path
from typing import Any

import numpy as np
import sqlalchemy as sa
from sqlalchemy import Connection

from service.domain.assignment import Assignment, handed_in
from service.domain.board import Board, Details
from service.domain.check import Check
from service.domain.classroom import Classroom, Membership
from service.domain.device import Device, secret_hash
from service.domain.log_numbers import LogNumbers, log_numbers_of
from service.domain.measures import Measures, measures_of
from service.domain.person import Person, Role
from service.domain.review import Review
from service.domain.review_queue import with_review
from service.jobs.measuring import Bench, measure
from service.storage.engine import database_url, open_engine
from service.storage.log_lines import line_values
from service.storage.log_numbers_rows import numbers_values
from service.storage.measures_rows import KEYS
from service.storage.migrate import migrate
from service.storage.ports import open_ports
from service.storage.review_rows import review_values
from service.storage.rows import board_values, check_values
from service.storage.tables import (
    BoardRow,
    CheckRow,
    FitRow,
    LogLineRow,
    LogNumbersRow,
    MeasuresRow,
    ReviewRow,
    UtcTime,
)
from service.use_cases.answer_job import Task, take_job
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.send_photo import Sending, send_photo

ROOT = Path(__file__).parents[3]
SAMPLES = tuple(
    ROOT / "sample_images" / f"{name}.jpg"
    for name in ("maple-sawn-knife", "maple-sawn-red-pen", "pine-sawn-pencil", "cherry-cleared-knife")
)
"""Photos that are really measured; every board of the database has the answer to one of them."""
CHECKS, STUDENTS, CLASSES = 100_000, 300, 20
HEAVIEST = 2000
"""Boards of the first student: two a day for three years."""
ASSIGNMENTS = 10
YEARS = 3.0
DAY, QUEUE = timedelta(days=1), timedelta(days=10)
"""A board is reviewed a day after it was handed in; the last days' still wait, some hundred in the school."""
DRIVEN = ("5", "6")
"""Boards whose joints were driven end like that: of the first student more than are looked back on."""
AT_ONCE = 5000
WOODS, SAWS = ("maple", "pine", "cherry", "oak", "ash"), ("the old dovetail saw", "15 inch carcase saw", "gent's saw")
SEED = 20


@dataclass(frozen=True)
class School:
    """Whom to ask as, by the secrets of their sessions; the first student has the most boards."""

    students: Sequence[str]
    instructor: str
    heaviest_class: str
    assignment: str
    board: str


@dataclass(frozen=True)
class _Template:
    """The answer to one photo: its check, its JSON as text, and its numbers."""

    check: Check
    result: str
    words: str
    measures: Measures
    numbers: LogNumbers


def fill(data: Path) -> School:
    """A school with `CHECKS` checks in a fresh database of the folder `data`."""
    engine = open_engine(database_url(None, data))
    migrate(engine)
    ports = open_ports(engine, data)
    people = _people(ports)
    work = _classes(ports)
    templates = [_template(path, ports, data) for path in SAMPLES]
    with engine.begin() as connection:
        for boards in _portions(sorted(_boards(work), key=attrgetter("created"))):
            _insert(connection, boards, templates)
    with engine.connect() as connection:
        board = connection.scalar(sa.select(BoardRow.id).where(BoardRow.person_id == "student-0").limit(1))
    engine.dispose()
    return School(people, "secret of instructor-0", "class-0", work["class-0"][0].id, str(board))


def _people(ports: Ports) -> list[str]:
    """Everybody with an open session; the students' secrets."""
    with ports.unit_of_work() as uow:
        for number in range(CLASSES):
            _person(uow, f"instructor-{number}", "instructor", ports)
        secrets = [_person(uow, f"student-{number}", "student", ports) for number in range(STUDENTS)]
        uow.commit()
    return secrets


def _person(uow: UnitOfWork, name: str, role: Role, ports: Ports) -> str:
    secret = f"secret of {name}"
    uow.people.add(Person(name, f"Invented {name.replace('-', ' ')}", role))
    uow.devices.add(Device(f"of-{name}", name, "benchmark", "browser", secret_hash(secret), ports.now(), ports.now()))
    return secret


def _classes(ports: Ports) -> dict[str, list[Assignment]]:
    """The assignments by class; every student is in one class, whose instructor has the same number."""
    work: dict[str, list[Assignment]] = {}
    begun = ports.now() - timedelta(days=365 * YEARS)
    with ports.unit_of_work() as uow:
        for number in range(CLASSES):
            classroom = Classroom(f"class-{number}", f"Invented class {number}", "", begun)
            uow.classes.add(classroom)
            uow.classes.put_member(Membership(classroom.id, f"instructor-{number}", "instructor", begun))
            work[classroom.id] = [_assignment(uow, classroom, each, begun) for each in range(ASSIGNMENTS)]
        for number in range(STUDENTS):
            uow.classes.put_member(Membership(_class_of(number), f"student-{number}", "student", begun))
        uow.commit()
    return work


def _assignment(uow: UnitOfWork, classroom: Classroom, number: int, begun: datetime) -> Assignment:
    set_at = begun + timedelta(days=365 * YEARS * number / ASSIGNMENTS)
    assignment = Assignment(f"{classroom.id}-work-{number}", classroom.id, f"Invented task {number}", set_at)
    uow.assignments.add(assignment)
    return assignment


def _class_of(student: int) -> str:
    return f"class-{student % CLASSES}"


def _template(path: Path, ports: Ports, data: Path) -> _Template:
    """A photo sent, measured, and taken away again but for its answer and its pictures."""
    check, _ = send_photo("instructor-0", Sending(path.read_bytes()), ports)
    task = take_job("benchmark", 600.0, ports)
    assert task is not None
    whole = _answered(task, Bench(ports.photos, data), ports.now())
    measures = measures_of(task.board, [whole])
    assert measures is not None, f"{path.name} was not measured"
    assert whole.answer is not None
    with ports.unit_of_work() as uow:
        uow.boards.remove(check.board)
        uow.commit()
    texts = json.dumps(whole.answer.result), json.dumps(whole.answer.words)
    return _Template(whole, *texts, measures, log_numbers_of(measures, [whole]))


def _answered(task: Task, bench: Bench, now: datetime) -> Check:
    answer = measure(task, bench)
    for picture in answer.files.values():
        bench.photos.put(picture, "JPEG")
    return task.check.answered(replace(answer, answered_at=now, files={}))


def _boards(work: dict[str, list[Assignment]]) -> Iterator[Board]:
    """Boards, two of three handed in, that know nothing of their photo yet."""
    rng = np.random.default_rng(SEED)
    others = (CHECKS - HEAVIEST) // (STUDENTS - 1)
    spare = CHECKS - HEAVIEST - others * (STUDENTS - 1)
    for student in range(STUDENTS):
        count = HEAVIEST if student == 0 else others + (student <= spare)
        for number, age in enumerate(rng.uniform(0.0, 365 * YEARS, count)):
            created = datetime.now(UTC) - timedelta(days=float(age))
            board = _board(f"b{student}-{number}", f"student-{student}", created, rng)
            task = work[_class_of(student)][int(rng.integers(ASSIGNMENTS))]
            yield board if number % 3 == 0 else handed_in(board, task, created)


def _board(name: str, person: str, created: datetime, rng: np.random.Generator) -> Board:
    wood, saw = str(rng.choice(WOODS)), str(rng.choice(SAWS))
    notes = f"Board {name} of an invented person, slower at the last third of the cut."
    return Board(name, person, f"{wood} {name}", created, Details(wood, 19.0, saw, "three tails at 1:7", notes))


def _portions(rows: Sequence[Board]) -> Iterator[Sequence[Board]]:
    return (rows[start : start + AT_ONCE] for start in range(0, len(rows), AT_ONCE))


_CHECKS = sa.table("checks", *(sa.column(each.name) for each in CheckRow.__table__.columns))
"""Columns without types: the JSON is written down as it stands. Boards go in sorted by time, as they come in a school:
one person's rows lie far apart on the disk."""
for _name in ("sent_at", "answered_at"):
    _CHECKS.c[_name].type = UtcTime()


def _insert(connection: Connection, boards: Sequence[Board], templates: Sequence[_Template]) -> None:
    """Boards with one check each, their reviews, and what lists and charts need of them."""
    now = datetime.now(UTC)
    pairs = [_measured(board, templates[number % len(templates)], now) for number, board in enumerate(boards)]
    reviews = [_review(board) for board, _ in pairs if board.decision]
    connection.execute(sa.insert(BoardRow), [_board_row(board) for board, _ in pairs])
    connection.execute(sa.insert(_CHECKS), [_check_row(*pair) for pair in pairs])
    connection.execute(sa.insert(MeasuresRow), [_measures_row(*pair) for pair in pairs])
    connection.execute(sa.insert(LogLineRow), [line_values(board) for board, _ in pairs])
    connection.execute(sa.insert(LogNumbersRow), [_numbers_row(*pair) for pair in pairs])
    if reviews:
        connection.execute(sa.insert(ReviewRow), [review_values(review) for review in reviews])
    driven = [pair for pair in pairs if pair[0].id.endswith(DRIVEN)]
    connection.execute(sa.insert(FitRow), [row for pair in driven for row in _fits_rows(*pair)])


def _measured(board: Board, template: _Template, now: datetime) -> tuple[Board, _Template]:
    """The board as its photo has it, and as its instructor has, if it was handed in long enough ago."""
    answer = template.check.answer
    assert answer is not None
    shown = replace(board, standing=template.check.advice, thumbnail=answer.pictures.thumbnail)  # type: ignore[arg-type]
    if board.handed_in is None or board.handed_in > now - QUEUE:
        return with_review(shown, [], []), template
    return replace(shown, decision=template.check.advice, reviewed_at=board.handed_in + DAY), template


def _fits_rows(board: Board, template: _Template) -> Iterator[dict[str, Any]]:
    """How the pins of a driven joint fitted: all but the first seated."""
    for socket in range(template.measures.sockets):
        outcome = "seated" if socket else "loose"
        yield {"board_id": board.id, "socket": socket, "outcome": outcome, "noted_at": board.created + DAY}


def _review(board: Board) -> Review:
    assert board.reviewed_at is not None
    instructor = f"instructor-{board.assignment.partition('-work')[0].removeprefix('class-')}"
    about = f"r{board.id}", board.id, instructor, f"Invented {instructor}", board.reviewed_at
    return Review(*about, board.decision, board.standing, remarks="Slow down over the last third.")  # type: ignore[arg-type]


def _board_row(board: Board) -> dict[str, Any]:
    return board_values(board) | {"classroom_id": board.assignment.partition("-work")[0] or None}


def _check_row(board: Board, template: _Template) -> dict[str, Any]:
    named = {"id": f"c{board.id}", "board": board.id, "person": board.person, "sent_sha256": f"of {board.id}"}
    values = check_values(replace(template.check, sent_at=board.created, **named))  # type: ignore[arg-type]
    return values | {"answered_at": board.created, "result": template.result, "words": template.words}


def _numbers_row(board: Board, template: _Template) -> dict[str, Any]:
    named = {"board": board.id, "person": board.person, "created": board.created}
    return numbers_values(replace(template.numbers, **named))  # type: ignore[arg-type]


def _measures_row(board: Board, template: _Template) -> dict[str, Any]:
    """The photo's numbers, no two boards alike: every lean is a little larger or smaller by the board's number."""
    named = {"board": board.id, "check": f"c{board.id}", "person": board.person, "created": board.created}
    share = 1.0 + 0.2 * math.sin(sum(map(ord, board.id)))
    leans = {name: getattr(template.measures, name) * share for name in ("lean_deg", "abs_lean_deg")}
    varied = replace(template.measures, **named, **leans)  # type: ignore[arg-type]
    return {KEYS.get(name, name): value for name, value in vars(varied).items()}
