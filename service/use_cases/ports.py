"""What the use cases need of the world: storage of rows and files, a runner of jobs, a clock, new ids."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from service.domain.account import Account, Invitation
from service.domain.board import Board
from service.domain.check import Check, StoredPhoto
from service.domain.device import Device, Pairing
from service.domain.fit import Fit
from service.domain.job import Job
from service.domain.log import Choices, LogPage, Wanted
from service.domain.person import Person


class People(Protocol):
    """People by id."""

    def add(self, person: Person) -> None: ...
    def get(self, person_id: str) -> Person:
        """Raises NotFoundError."""

    def put(self, person: Person) -> None: ...
    def remove(self, person_id: str) -> None:
        """With everything of theirs."""


class Boards(Protocol):
    """Boards by id; a removed board takes its checks, jobs and fits with it."""

    def add(self, board: Board) -> None: ...
    def get(self, board_id: str) -> Board:
        """Raises NotFoundError."""

    def put(self, board: Board) -> None: ...
    def remove(self, board_id: str) -> None: ...
    def find(self, wanted: Wanted) -> LogPage: ...
    def choices(self, person_id: str) -> Choices: ...
    def all_of(self, person_id: str) -> Sequence[Board]:
        """Every board of a person, oldest first."""


class Checks(Protocol):
    """Checks by id."""

    def add(self, check: Check) -> None: ...
    def get(self, check_id: str) -> Check:
        """Raises NotFoundError."""

    def put(self, check: Check) -> None: ...
    def remove(self, check_id: str) -> None: ...
    def of_boards(self, board_ids: Iterable[str]) -> Sequence[Check]:
        """Oldest first."""

    def of_photo(self, person_id: str, sent_sha256: str) -> Check | None: ...
    def still_used(self, names: Iterable[str]) -> set[str]:
        """Those of the stored names that any check of anybody holds."""


class Fits(Protocol):
    """How sockets fitted, by board."""

    def of_board(self, board_id: str) -> Sequence[Fit]: ...
    def replace(self, board_id: str, fits: Iterable[Fit]) -> None: ...


class Jobs(Protocol):
    """Jobs, in the order they came."""

    def add(self, job: Job) -> None: ...
    def claim(self, worker: str, now: datetime, lease_until: datetime) -> Job | None:
        """The next job that waits or whose lease has run out, now held by `worker`, its attempt counted."""

    def remove(self, job: Job) -> bool:
        """Remove a job that this worker still holds at this attempt; whether it did."""

    def release(self, job: Job, attempts: int) -> None:
        """Let a job that this worker still holds wait again, with so many attempts counted."""

    def held_by(self, prefix: str) -> Sequence[Job]:
        """Jobs whose worker's name begins like that."""

    def waiting(self) -> int: ...


class Devices(Protocol):
    """Phones and programs that may act for a person, and the codes that pair phones."""

    def add(self, device: Device) -> None: ...
    def put(self, device: Device) -> None: ...
    def with_secret(self, secret_sha256: str) -> Device:
        """Raises NotFoundError."""

    def of_person(self, person_id: str) -> Sequence[Device]: ...
    def remove(self, device_id: str) -> None: ...
    def add_pairing(self, pairing: Pairing) -> None: ...
    def take_pairing(self, code_sha256: str) -> Pairing | None:
        """Taken away as it is read, so that it works once."""

    def drop_stale_pairings(self, now: datetime) -> None: ...


class Accounts(Protocol):
    """What people sign in with, and the codes that make accounts."""

    def put(self, account: Account) -> None: ...
    def of_person(self, person_id: str) -> Account:
        """Raises NotFoundError."""

    def with_login(self, login: str) -> Account | None: ...
    def everyone(self) -> Sequence[tuple[Person, str]]:
        """Everyone with an account and the name to sign in with, by name."""

    def add_invitation(self, invitation: Invitation) -> None: ...
    def invitation(self, code_sha256: str) -> Invitation | None: ...
    def take_invitation(self, code_sha256: str) -> Invitation | None:
        """Taken away as it is read, so that it works once."""

    def drop_stale_invitations(self, now: datetime) -> None: ...


class Hasher(Protocol):
    """Passwords to hashes that are slow to guess."""

    def hash(self, password: str) -> str: ...
    def verify(self, kept: str | None, password: str) -> bool:
        """Never for None, and as slowly."""


class UnitOfWork(AbstractContextManager["UnitOfWork"], Protocol):
    """One transaction: what is not committed is undone on leaving."""

    @property
    def people(self) -> People: ...
    @property
    def boards(self) -> Boards: ...
    @property
    def checks(self) -> Checks: ...
    @property
    def fits(self) -> Fits: ...
    @property
    def jobs(self) -> Jobs: ...
    @property
    def devices(self) -> Devices: ...
    @property
    def accounts(self) -> Accounts: ...

    def commit(self) -> None: ...
    def lock_photos(self) -> None:
        """Until the end of this transaction nobody else puts or removes photos together with rows."""


class PhotoStore(Protocol):
    """Files by the hash of their content: the same bytes are stored once."""

    def put(self, data: bytes, kind: str) -> StoredPhoto:
        """Safe on disk when it returns."""

    def read(self, name: str) -> bytes:
        """Raises NotFoundError."""

    def remove(self, names: Iterable[str]) -> None: ...
    def names(self, older_than_s: float) -> Iterable[str]:
        """Everything stored longer ago than that."""


class JobRunner(Protocol):
    """Whoever works jobs off."""

    def wake(self) -> None:
        """There is a new job."""


@dataclass(frozen=True)
class Ports:
    """All of them. `unit_of_work` writes, `reading` only looks; `clean` makes an upload fit to be stored.

    `clean(data)` gives bytes and kind, or raises CannotMeasure.
    """

    unit_of_work: Callable[[], UnitOfWork]
    reading: Callable[[], UnitOfWork]
    photos: PhotoStore
    runner: JobRunner
    clean: Callable[[bytes], tuple[bytes, str]]
    now: Callable[[], datetime]
    new_id: Callable[[], str]
    new_secret: Callable[[], str]
    hasher: Hasher
