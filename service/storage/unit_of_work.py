"""One transaction on the database, with everything that is kept there."""

from __future__ import annotations

from collections.abc import Callable
from sqlite3 import SQLITE_FULL
from types import TracebackType

from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from service.domain.mistakes import NoRoomError
from service.storage.account_rows import AccountRows
from service.storage.class_rows import AssignmentRows, ClassRows
from service.storage.correction_rows import CorrectionRows
from service.storage.device_rows import DeviceRows
from service.storage.handed_in_rows import HandedInRows
from service.storage.job_rows import JobRows
from service.storage.log_numbers_rows import LogNumbersRows
from service.storage.measures_rows import MeasuresRows
from service.storage.practice_cuts_rows import PracticeCutsRows
from service.storage.queue_rows import QueueRows
from service.storage.repositories import BoardRows, CheckRows, FitRows, PeopleRows
from service.storage.review_rows import ReviewRows, SavedRemarkRows
from service.storage.together_rows import TogetherRows

DISK_FULL = "53100"
"""PostgreSQL's code of it (its manual, appendix A)."""
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
    classes: ClassRows
    assignments: AssignmentRows
    measures: MeasuresRows
    log_numbers: LogNumbersRows
    practice_cuts: PracticeCutsRows
    handed_in: HandedInRows
    reviews: ReviewRows
    review_queue: QueueRows
    saved_remarks: SavedRemarkRows
    corrections: CorrectionRows
    together: TogetherRows

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def __enter__(self) -> DatabaseWork:
        self._session = Session(self._engine, autoflush=False)
        self.people, self.boards = PeopleRows(self._session), BoardRows(self._session)
        self.checks, self.fits = CheckRows(self._session), FitRows(self._session)
        self.jobs, self.devices = JobRows(self._session), DeviceRows(self._session)
        self.accounts = AccountRows(self._session)
        self.classes, self.assignments = ClassRows(self._session), AssignmentRows(self._session)
        self.measures, self.handed_in = MeasuresRows(self._session), HandedInRows(self._session)
        self.log_numbers, self.practice_cuts = LogNumbersRows(self._session), PracticeCutsRows(self._session)
        self.reviews, self.review_queue = ReviewRows(self._session), QueueRows(self._session)
        self.saved_remarks = SavedRemarkRows(self._session)
        self.corrections = CorrectionRows(self._session)
        self.together = TogetherRows(self._session)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Raises NoRoomError in place of what the database says of a full disk."""
        self._session.rollback()
        self._session.close()
        if _is_full(error):
            raise NoRoomError from error

    def commit(self) -> None:
        """Keep what was done."""
        self._session.commit()

    def lock_photos(self) -> None:
        """SQLite has one writer at a time, and this is it once it has begun; PostgreSQL is asked for a lock."""
        self._session.connection()
        if self._engine.dialect.name == "postgresql":
            self._session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": PHOTO_LOCK})


def _is_full(error: BaseException | None) -> bool:
    said = error.orig if isinstance(error, DBAPIError) else None
    return getattr(said, "sqlite_errorcode", 0) == SQLITE_FULL or getattr(said, "sqlstate", "") == DISK_FULL


def writing(engine: Engine) -> Callable[[], DatabaseWork]:
    """Units of work that may write."""
    return lambda: DatabaseWork(engine)


def reading(engine: Engine) -> Callable[[], DatabaseWork]:
    """Units of work that only look, and wait for no writer."""
    readers = engine.execution_options(reading=True)
    return lambda: DatabaseWork(readers)
