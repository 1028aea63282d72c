"""A worker takes a job, and its answer or its failure is written down: once, whatever dies in between."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from service.domain.board import Board, standing_of, thumbnail_of
from service.domain.check import Answer, Check
from service.domain.job import Job
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.use_cases.forget_photos import forget_photos
from service.use_cases.ports import Ports, UnitOfWork


@dataclass(frozen=True)
class Assignment:
    """A job that a worker holds, with all that it needs to know."""

    job: Job
    check: Check
    board: Board
    person: Person


def take_job(worker: str, seconds: float, ports: Ports) -> Assignment | None:
    """The next job for `worker`, who has so many seconds for it; None when there is none."""
    now = ports.now()
    with ports.unit_of_work() as uow:
        job = uow.jobs.claim(worker, now, now + timedelta(seconds=seconds))
        if job is None:
            return None
        check = uow.checks.get(job.check)
        assignment = Assignment(job, check, uow.boards.get(check.board), uow.people.get(check.person))
        uow.commit()
    return assignment


def finish_job(assignment: Assignment, answer: Answer, ports: Ports) -> bool:
    """Write the answer down and drop the job, in one transaction; False when the job is no longer this worker's."""
    with ports.unit_of_work() as uow:
        if not uow.jobs.remove(assignment.job):
            return False
        before = uow.checks.get(assignment.check.id)
        _put(uow, before.answered(replace(answer, answered_at=ports.now())))
        uow.commit()
    forget_photos(before.stored_names, ports)
    return True


def fail_job(job: Job, answer: Answer, ports: Ports, *, blamed: bool = True) -> None:
    """An attempt failed: the job waits for the next one, or after the last `answer` says that it was given up.

    An attempt that the job is not to be blamed for does not count.
    """
    with ports.unit_of_work() as uow:
        if not (blamed and job.exhausted):
            uow.jobs.release(job, job.attempts if blamed else job.attempts - 1)
        elif uow.jobs.remove(job):
            _give_up(uow, job, replace(answer, answered_at=ports.now()))
        uow.commit()


def release_jobs(prefix: str, answer: Answer, ports: Ports, *, blamed: bool = True) -> int:
    """Jobs held by workers, named with that prefix, that are known to be dead: each is a failed attempt, if blamed."""
    with ports.reading() as uow:
        held = uow.jobs.held_by(prefix)
    for job in held:
        fail_job(job, answer, ports, blamed=blamed)
    return len(held)


def _give_up(uow: UnitOfWork, job: Job, answer: Answer) -> None:
    try:
        check = uow.checks.get(job.check)
    except NotFoundError:
        return
    pictures = check.answer.pictures if check.answer else answer.pictures
    _put(uow, check.given_up(replace(answer, pictures=pictures)))


def _put(uow: UnitOfWork, check: Check) -> None:
    """A check with its board brought up to date."""
    uow.checks.put(check)
    refresh_board(uow, check.board)


def refresh_board(uow: UnitOfWork, board_id: str) -> Board:
    """The board with its standing and its picture as its checks now have them, written down."""
    checks = uow.checks.of_boards([board_id])
    standing, thumbnail = standing_of(checks), thumbnail_of(checks)
    board = replace(uow.boards.get(board_id), standing=standing, thumbnail=thumbnail)
    uow.boards.put(board)
    return board
