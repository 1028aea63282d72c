"""A worker takes a job, and its answer or its failure is written down: once, whatever dies in between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from service.domain.assignment import Assignment
from service.domain.board import Board, is_corrected, standing_of, thumbnail_of, work_on
from service.domain.check import Answer, Check, Told, View
from service.domain.job import Job
from service.domain.log_numbers import log_numbers_of
from service.domain.measures import measures_of
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.domain.review_queue import with_review
from service.use_cases.forget_photos import forget_photos
from service.use_cases.keep_pictures import with_pictures_stored
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.put_together import Photos, ask_together, finish_together, give_up_together, photos_of


@dataclass(frozen=True)
class Task:
    """A job that a worker holds, with all that it needs to know; `assignment` is the board's, if it was handed in.

    With `photos` it is a board's: they are to be put together, and `check` is the end that the board stands by.
    """

    job: Job
    check: Check
    board: Board
    person: Person
    assignment: Assignment | None = None
    photos: Photos | None = None


def take_job(worker: str, seconds: float, ports: Ports) -> Task | None:
    """The next job for `worker`, who has so many seconds for it; None when there is none."""
    now = ports.now()
    with ports.unit_of_work() as uow:
        job = uow.jobs.claim(worker, now, now + timedelta(seconds=seconds))
        if job is None:
            return None
        photos = photos_of(uow, job.board) if job.board else None
        if job.board and photos is None:  # its photos are being measured again: it is asked for anew afterwards
            uow.jobs.remove(job)
            uow.commit()
            return take_job(worker, seconds, ports)
        check = photos.newest_end if photos else uow.checks.get(job.check)
        board = uow.boards.get(check.board)
        assignment = uow.assignments.get(board.assignment) if board.assignment else None
        task = Task(job, check, board, uow.people.get(check.person), assignment, photos)
        uow.commit()
    return task


def finish_job(task: Task, answer: Answer, ports: Ports) -> bool:
    """Write the answer down and drop the job, in one transaction; False when the job is no longer this worker's."""
    if task.photos is not None:
        return finish_together(task.job, answer, ports)
    with ports.unit_of_work() as uow:
        uow.lock_photos()
        if not _let_go(uow, task.job):
            return False
        before, answer = uow.checks.get(task.check.id), with_pictures_stored(answer, ports)
        _put(uow, before, before.answered(answer), answer, ports)
        uow.commit()
    forget_photos({*before.stored_names, *answer.pictures.names}, ports)
    return True


def fail_job(job: Job, answer: Answer, ports: Ports, *, blamed: bool = True) -> None:
    """An attempt failed: the job waits for the next one, or after the last `answer` says that it was given up.

    An attempt that the job is not to be blamed for does not count.
    """
    with ports.unit_of_work() as uow:
        if not (blamed and job.exhausted):
            uow.jobs.release(job, job.attempts if blamed else job.attempts - 1)
        elif _let_go(uow, job):
            _give_up(uow, job, replace(answer, answered_at=ports.now()), ports)
        uow.commit()


def release_jobs(prefix: str, answer: Answer, ports: Ports, *, blamed: bool = True) -> int:
    """Jobs held by workers, named with that prefix, that are known to be dead: each is a failed attempt, if blamed."""
    with ports.reading() as uow:
        held = uow.jobs.held_by(prefix)
    for job in held:
        fail_job(job, answer, ports, blamed=blamed)
    return len(held)


def _let_go(uow: UnitOfWork, job: Job) -> bool:
    """Remove a job that its worker still holds; whether it did.

    The board is held first, as by everybody who changes one: in another order, two could wait for one another.
    """
    try:
        uow.boards.hold(job.board or uow.checks.get(job.check).board)
    except NotFoundError:
        return False
    return uow.jobs.remove(job)


def _give_up(uow: UnitOfWork, job: Job, answer: Answer, ports: Ports) -> None:
    if job.board:
        give_up_together(uow, job.board, answer)
        return
    check = uow.checks.get(job.check)
    pictures = check.answer.pictures if check.answer else answer.pictures
    answer = replace(answer, pictures=pictures)
    _put(uow, check, check.given_up(answer), answer, ports)


def _put(uow: UnitOfWork, before: Check, after: Check, answer: Answer, ports: Ports) -> None:
    """A check after an answer, with its corrections and its board brought up to date."""
    uow.checks.put(after)
    if before.corrected:
        _settle_correction(uow, before, after, answer, ports)
    refresh_board(uow, after.board)


def _settle_correction(uow: UnitOfWork, before: Check, after: Check, answer: Answer, ports: Ports) -> None:
    """The correction that was waited for stands, or could not be used; then the original is measured, if outdated."""
    for correction in uow.corrections.of_checks([after.id]):
        if correction.stands:
            uow.corrections.put(correction.answered(answer))
    if before.original_outdated and not after.corrected:
        measure_again(uow, after, after.told, ports)


def measure_again(uow: UnitOfWork, check: Check, told: Told, ports: Ports, view: View | None = None) -> None:
    """A new job for a photo, to be measured as this view from now on.

    Any job that it has is dropped: a worker that measures it by what was told before can answer it no longer.
    """
    uow.jobs.drop_check(check.id)
    uow.checks.put(check.again(told, view))
    uow.jobs.add(Job(ports.new_id(), check.id, ports.now()))


def refresh_board(uow: UnitOfWork, board_id: str) -> Board:
    """The board with its standing, picture, numbers and place in the queue as its checks and reviews now have them.

    It is held before its checks are read: two workers that finish its last two photos see one another's.
    """
    held, checks = uow.boards.hold(board_id), uow.checks.of_boards([board_id])
    standing, thumbnail = standing_of(checks), thumbnail_of(checks)
    board = replace(held, standing=standing, thumbnail=thumbnail, corrected=is_corrected(checks))
    board = replace(board, work_on=work_on(checks))
    board = with_review(board, checks, uow.reviews.of_board(board_id))
    uow.boards.put(board)
    _put_measures(uow, board, checks)
    ask_together(uow, board_id)
    return board


def _put_measures(uow: UnitOfWork, board: Board, checks: Sequence[Check]) -> None:
    """What lists and charts need, as the newest measured end has it."""
    measures = measures_of(board, checks)
    if measures is None:
        uow.measures.remove(board.id)
        uow.log_numbers.remove(board.id)
    else:
        uow.measures.put(measures)
        uow.log_numbers.put(log_numbers_of(measures, checks))
