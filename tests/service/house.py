"""A service in one process for the tests: a fresh database, photos in a temporary folder, a clock that is told."""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from argon2 import PasswordHasher
from sqlalchemy import Engine, text

from service.domain.check import Answer, Check, Pictures
from service.domain.person import Person
from service.storage.engine import database_url, open_engine
from service.storage.kept_things import KeptThings
from service.storage.migrate import migrate
from service.storage.passwords import Passwords
from service.storage.photo_files import PhotoFiles
from service.storage.ports import PHOTOS
from service.storage.tables import Table
from service.storage.unit_of_work import reading, writing
from service.uploads.clean import clean_upload
from service.use_cases.answer_job import fail_job, finish_job, take_job
from service.use_cases.ports import Ports
from service.use_cases.send_photo import Sending, send_photo

WORKER = os.environ.get("PYTEST_XDIST_WORKER", "")
GIVEN = os.environ.get("TAILPROOF_TEST_DATABASE", "")
SERVER = f"{GIVEN}_{WORKER}" if GIVEN and WORKER else GIVEN
"""A PostgreSQL URL that the tests may empty; without it they run on SQLite. Tests side by side have a database each,
whose name ends with theirs: `_gw0` and so on."""
BEGIN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@dataclass
class House:
    """All ports, with what the tests turn and look at."""

    ports: Ports
    engine: Engine
    data: Path
    clock: list[datetime]
    woken: list[int] = field(default_factory=list)

    def wake(self) -> None:
        """Count the calls."""
        self.woken.append(1)

    def later(self, **span: float) -> None:
        """Let time pass."""
        self.clock[0] += timedelta(**span)

    def send(self, data: bytes, person: str = "ann", **more: object) -> Check:
        """A photo as that person sends it."""
        return send_photo(person, Sending(data, **more), self.ports)[0]  # type: ignore[arg-type]

    def answer(self, answer: Answer, worker: str = "w") -> str:
        """The next photo's job answered like that; its check. Boards whose photos are to be put together can wait."""
        held = []
        while (task := take_job(worker, 60.0, self.ports)) and task.photos is not None:
            held.append(task.job)
        for job in held:
            fail_job(job, answer, self.ports, blamed=False)
        assert task is not None
        assert finish_job(task, answer, self.ports)
        return task.check.id

    def stored(self) -> set[str]:
        """Names of all stored files."""
        return {path.name for path in (self.data / PHOTOS).glob("??/*")}


@contextmanager
def open_house(folder: Path, *, cleaning: bool = False) -> Iterator[House]:
    """A house with Ann and Ben in it. Without `cleaning` any bytes pass for a JPEG."""
    engine = open_engine(fresh_database(folder))
    clock, ids = [BEGIN], itertools.count(1)
    house: House

    class Bell:
        def wake(self) -> None:
            house.wake()

    photos = PhotoFiles(folder / PHOTOS)
    clean = clean_upload if cleaning else lambda data: (data, "JPEG")
    ports = Ports(
        writing(engine),
        reading(engine),
        photos,
        Bell(),
        clean,
        lambda: clock[0],
        lambda: f"id-{next(ids):04d}",
        lambda: f"secret-{next(ids):04d}",
        Passwords(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)),
        KeptThings(folder),
    )
    house = House(ports, engine, folder, clock)
    with ports.unit_of_work() as uow:
        uow.people.add(Person("ann", "Ann"))
        uow.people.add(Person("ben", "Ben"))
        uow.commit()
    try:
        yield house
    finally:
        engine.dispose()


def fresh_database(folder: Path) -> str:
    """The URL of a database with empty tables."""
    if SERVER:
        _empty_server()
        return database_url(SERVER, folder)
    (folder / "log.sqlite3").write_bytes(_empty_file())
    return database_url(None, folder)


@cache
def _empty_file() -> bytes:
    """A SQLite file with all migrations in, made once; its last connection closed, nothing is left in a journal."""
    with TemporaryDirectory() as folder:
        engine = open_engine(database_url(None, Path(folder)))
        migrate(engine)
        engine.dispose()
        return (Path(folder) / "log.sqlite3").read_bytes()


def _empty_server() -> None:
    names = ", ".join(f'"{table.name}"' for table in Table.metadata.sorted_tables)
    with _server().begin() as connection:
        connection.execute(text(f"TRUNCATE {names}"))


@cache
def _server() -> Engine:
    """The server's database, all migrations brought in once."""
    engine = open_engine(database_url(SERVER, Path()))
    migrate(engine)
    return engine


def measured(advice: str = "transfer", thumbnail: str = "") -> Answer:
    """An answer with that advice."""
    words = {"verdict": f"{advice}.", "sockets": [{"name": "left half pin"}, {"name": "right half pin"}]}
    result = {"schema": 1, "ok": True, "advice": advice}
    return Answer(result, {"mm": words, "inch": words}, Pictures(thumbnail=thumbnail))


def refused() -> Answer:
    """An answer without numbers."""
    words = {"message": "No card was found in the photo.", "what_to_do": "Lay it there."}
    result = {"schema": 1, "ok": False, "refusal": {"reason": "no_card", **words}}
    return Answer(result, {"mm": words, "inch": words})
