"""The queue of jobs as rows: a job is held by one worker at a time, whoever else looks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import CursorResult, delete, func, or_, select, update
from sqlalchemy.orm import Session

from service.domain.job import Job
from service.storage.rows import job_of, job_values
from service.storage.tables import JobRow


class JobRows:
    """`ports.Jobs` on a session. `SKIP LOCKED` keeps PostgreSQL's workers apart; SQLite has one writer at a time."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, job: Job) -> None:
        self._session.add(JobRow(**job_values(job)))
        self._session.flush()

    def claim(self, worker: str, now: datetime, lease_until: datetime) -> Job | None:
        free = or_(JobRow.state == "waiting", JobRow.lease_until < now)
        asked = select(JobRow).where(free).order_by(JobRow.attempts, JobRow.created, JobRow.id).limit(1)
        row = self._session.scalar(asked.with_for_update(skip_locked=True))
        if row is None:
            return None
        held = replace(job_of(row), state="running", attempts=row.attempts + 1, worker=worker, lease_until=lease_until)
        self._session.execute(update(JobRow).where(JobRow.id == held.id).values(**job_values(held)))
        return held

    def remove(self, job: Job) -> bool:
        return self._touched(delete(JobRow).where(*_still_held(job)))

    def release(self, job: Job, attempts: int) -> None:
        free = {"state": "waiting", "worker": "", "lease_until": None, "attempts": attempts}
        self._touched(update(JobRow).where(*_still_held(job)).values(**free))

    def drop_check(self, check_id: str) -> None:
        self._session.execute(delete(JobRow).where(JobRow.check_id == check_id))

    def drop_board(self, board_id: str) -> None:
        self._session.execute(delete(JobRow).where(JobRow.board_id == board_id))

    def held_by(self, prefix: str) -> Sequence[Job]:
        asked = select(JobRow).where(JobRow.state == "running", JobRow.worker.startswith(prefix, autoescape=True))
        return [job_of(row) for row in self._session.scalars(asked)]

    def waiting(self) -> int:
        return self._session.scalar(select(func.count()).select_from(JobRow)) or 0

    def _touched(self, statement: Any) -> bool:
        done = self._session.execute(statement)
        assert isinstance(done, CursorResult)
        return done.rowcount > 0


def _still_held(job: Job) -> tuple[Any, ...]:
    """The job as this worker took it: another attempt at it is another's."""
    return JobRow.id == job.id, JobRow.worker == job.worker, JobRow.attempts == job.attempts
