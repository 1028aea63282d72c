"""A fresh instance filled with the invented school: people, classes, two months of boards, and what became of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from service.demo.aftermath import Aftermath
from service.demo.benches import Benches, open_benches
from service.demo.enrolment import Clock, Enrolled, enrol
from service.demo.school import Sample, School
from service.demo.timetable import DAYS, Planned, timetable
from service.domain.board import Details
from service.domain.check import Answer, View
from service.texts import text
from service.use_cases.answer_job import Task, finish_job, take_job
from service.use_cases.ports import Ports
from service.use_cases.send_photo import Sending, send_photo

SEED = 8
SAMPLES = Path(__file__).parents[2] / "sample_images"
"""Where they are in a copy of the repository; an installed program has none."""
LEASE_S = 1e8
"""Nobody else works here, and the clock makes leaps of days."""
MEASURED_AFTER = timedelta(seconds=8)
Tell = Callable[[int, int], None]
"""Called with how many boards are done, and of how many."""


@dataclass(frozen=True)
class _Sent:
    """A photo under way: its job, when it was sent, and its answer to come."""

    task: Task
    when: datetime
    answer: Future[Answer]


@dataclass(frozen=True)
class _Desk:
    """What filling needs at hand."""

    ports: Ports
    clock: Clock
    enrolled: Enrolled
    benches: Benches
    midnight: datetime


def fill(school: School, password: str, ports: Ports, data: Path, tell: Tell) -> None:
    """Fill the instance behind `ports`, whose photos are in `data`; everybody has that password."""
    now, rng = ports.now(), np.random.default_rng(SEED)
    midnight = datetime(now.year, now.month, now.day, tzinfo=UTC)
    clock = Clock(now)
    told = replace(ports, now=lambda: clock.moment)
    with open_benches(ports, data) as benches:
        planned = timetable(school, rng)
        pictures = benches.draw((board.end, board.seed) for board in planned)
        enrolled = enrol(school, password, midnight - timedelta(days=DAYS), told, clock)
        desk = _Desk(told, clock, enrolled, benches, midnight)
        sent = [_send(board, picture, desk) for board, picture in zip(planned, pictures, strict=True)]
        sent += [one for sample in school.samples for one in _send_sample(sample, desk)]
        for number, one in enumerate(sent, start=1):
            _finish(one, desk)
            tell(number, len(sent))
        _work(desk)
        Aftermath(school, enrolled, told, clock, rng, lambda: _work(desk)).happen(midnight)


def _send(board: Planned, picture: bytes, desk: _Desk) -> _Sent:
    details = Details(board.end.species, None, board.saw, board.plan, text("demo.drawn"))
    assignment = desk.enrolled.work[board.task.title].id if board.task else ""
    sending = Sending(picture, name=board.name, details=details, view=board.view, assignment=assignment)
    return _sent(board.student, sending, desk.midnight - timedelta(days=board.days_back), desk)


def _send_sample(sample: Sample, desk: _Desk) -> Iterator[_Sent]:
    """The photos of one sample board, where there are any."""
    when = desk.midnight - timedelta(days=sample.day - 0.5)
    details, board = Details(sample.species, notes=text("demo.sample")), ""
    views: list[tuple[View, str]] = [*(("end", name) for name in sample.photos), *sample.faces.items()]
    for view, name in views:
        path = SAMPLES / name
        if path.is_file():
            one = _sent(sample.student, Sending(path.read_bytes(), board, sample.name, details, view), when, desk)
            board = one.task.board.id
            yield one


def _sent(student: str, sending: Sending, when: datetime, desk: _Desk) -> _Sent:
    with desk.clock.at(when):
        send_photo(desk.enrolled.people[student].id, sending, desk.ports)
        return _taken(desk)


def _taken(desk: _Desk) -> _Sent:
    """The one job that waits, given to a worker."""
    task = take_job("demo", LEASE_S, desk.ports)
    assert task is not None
    return _Sent(task, desk.clock.moment, desk.benches.measure(task))


def _finish(one: _Sent, desk: _Desk) -> None:
    with desk.clock.at(one.when + MEASURED_AFTER):
        finish_job(one.task, one.answer.result(), desk.ports)


def _work(desk: _Desk) -> None:
    """Whatever else waits worked off: walls that were corrected, end and faces put together."""
    while (task := take_job("demo", LEASE_S, desk.ports)) is not None:
        _finish(_Sent(task, desk.clock.moment, desk.benches.measure(task)), desk)
