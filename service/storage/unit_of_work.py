"""One transaction on the database, with everything that is kept there."""

from __future__ import annotations

from collections.abc import Callable
from types import TracebackType

from sqlalchemy import Engine, text
from sqlalchemy.orm import Session

from service.storage.account_rows import AccountRows
from service.storage.device_rows import DeviceRows
from service.storage.job_rows import JobRows
from service.storage.repositories import BoardRows, CheckRows, FitRows, PeopleRows

PHOTO_LOCK = 0x7A11
"""Any number of our own: the key of PostgreSQL's advisory lock for photos."""


class DatabaseWork:
    """`ports.UnitOfWork` on an engine: what is not committed is undone on leaving."""

    people: PeopleRows
    boards: BoardRows
    checks: CheckRows
    fits: FitRows
    jobs: JobRows
    devices: DeviceRows
    accounts: AccountRows

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def __enter__(self) -> DatabaseWork:
        self._session = Session(self._engine, autoflush=False)
        self.people, self.boards = PeopleRows(self._session), BoardRows(self._session)
        self.checks, self.fits = CheckRows(self._session), FitRows(self._session)
        self.jobs, self.devices = JobRows(self._session), DeviceRows(self._session)
        self.accounts = AccountRows(self._session)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._session.rollback()
        self._session.close()

    def commit(self) -> None:
        """Keep what was done."""
        self._session.commit()

    def lock_photos(self) -> None:
        """SQLite has one writer at a time, and this is it; PostgreSQL is asked for a lock."""
        if self._engine.dialect.name == "postgresql":
            self._session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": PHOTO_LOCK})


def writing(engine: Engine) -> Callable[[], DatabaseWork]:
    """Units of work that may write."""
    return lambda: DatabaseWork(engine)


def reading(engine: Engine) -> Callable[[], DatabaseWork]:
    """Units of work that only look, and wait for no writer."""
    readers = engine.execution_options(reading=True)
    return lambda: DatabaseWork(readers)
