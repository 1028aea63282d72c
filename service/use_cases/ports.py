"""What the use cases need of the world: storage of rows and files, a runner of jobs, a clock, new ids."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from service.domain.account import Account, Invitation
from service.domain.assignment import Assignment
from service.domain.board import Board
from service.domain.check import Check, StoredPhoto
from service.domain.classroom import Classroom, Membership
from service.domain.correction import Correction
from service.domain.device import Device, Pairing
from service.domain.fit import Fit
from service.domain.job import Job
from service.domain.log import Choices, LogPage, Wanted
from service.domain.log_numbers import Logged, LogNumbers
from service.domain.measures import Measures
from service.domain.person import Person
from service.domain.practice_cuts import LoggedCuts
from service.domain.together import Together
from service.use_cases.review_ports import ReviewQueue, Reviews, SavedRemarks


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

    def hold(self, board_id: str) -> Board:
        """The board as it is now: nobody else changes it until the end of this transaction. Raises NotFoundError."""

    def put(self, board: Board) -> None: ...
    def remove(self, board_id: str) -> None: ...
    def find(self, wanted: Wanted) -> LogPage: ...
    def between(self, wanted: Wanted, start: datetime, end: datetime) -> Sequence[Board]:
        """Those of the boards wanted that were begun from `start` to before `end`, oldest first."""

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

    def faces_of(self, board_ids: Iterable[str]) -> Sequence[Check]:
        """Their measured photos of faces, oldest first."""

    def of_photo(self, person_id: str, sent_sha256: str) -> Check | None: ...
    def still_used(self, names: Iterable[str]) -> set[str]:
        """Those of the stored names that any row of anybody holds: a check, a review, or photos put together."""


class Corrections(Protocol):
    """What people said the walls of photos are; a removed check takes its own with it."""

    def add(self, correction: Correction) -> None: ...
    def put(self, correction: Correction) -> None: ...
    def of_checks(self, check_ids: Iterable[str]) -> Sequence[Correction]:
        """Oldest first."""

    def has(self, correction_id: str) -> bool: ...
    def forget(self, person_id: str) -> None:
        """Take the person's name and id out of all corrections: what they changed stays."""


class Fits(Protocol):
    """How sockets fitted, by board."""

    def of_board(self, board_id: str) -> Sequence[Fit]: ...
    def of_boards(self, board_ids: Iterable[str]) -> Mapping[str, Sequence[Fit]]:
        """Of those boards that anything was said of."""

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

    def drop_check(self, check_id: str) -> None:
        """Remove the job of a photo, if there is one; whoever holds it does so no longer."""

    def drop_board(self, board_id: str) -> None:
        """Remove the job of a board, if there is one; whoever holds it does so no longer."""

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
    def remove_all(self, person_id: str) -> None:
        """That person's devices, and the codes that would pair one."""

    def add_pairing(self, pairing: Pairing) -> None: ...
    def take_pairing(self, code_sha256: str) -> Pairing | None:
        """Taken away as it is read, so that it works once."""

    def drop_stale_pairings(self, now: datetime) -> None: ...
    def drop_stale_sessions(self, oldest: datetime) -> None:
        """Everybody's browsers that signed in before that."""


class Accounts(Protocol):
    """What people sign in with, and the codes that make accounts."""

    def add(self, account: Account) -> bool:
        """Whether it was added: not when somebody else, perhaps at this very moment, signs in with that name."""

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
    def drop_recoveries(self, person_id: str) -> None: ...


class Classes(Protocol):
    """Classes by id, and who is in them; a removed class takes its members and assignments with it, no boards."""

    def add(self, classroom: Classroom) -> None: ...
    def get(self, classroom_id: str) -> Classroom:
        """Raises NotFoundError."""

    def put(self, classroom: Classroom) -> None: ...
    def remove(self, classroom_id: str) -> None: ...
    def with_code(self, join_code: str) -> Classroom | None: ...
    def all(self) -> Sequence[Classroom]:
        """By name."""

    def of_person(self, person_id: str) -> Sequence[tuple[Classroom, Membership]]:
        """By name."""

    def members(self, classroom_id: str) -> Sequence[tuple[Person, Membership]]:
        """By the person's name."""

    def membership(self, classroom_id: str, person_id: str) -> Membership | None: ...
    def put_member(self, membership: Membership) -> None: ...
    def remove_member(self, classroom_id: str, person_id: str) -> None: ...
    def is_shown_to(self, board: Board, person_id: str) -> bool:
        """Whether that person instructs a class whose student handed the board in to it, or shows it all boards."""

    def students_of(self, person_id: str) -> Sequence[Person]:
        """Students of the classes that person instructs, by name, each once."""


class Assignments(Protocol):
    """Assignments by id; a removed one leaves the boards that were handed in to it, with its title."""

    def add(self, assignment: Assignment) -> None: ...
    def get(self, assignment_id: str) -> Assignment:
        """Raises NotFoundError."""

    def put(self, assignment: Assignment) -> None: ...
    def remove(self, assignment_id: str) -> None: ...
    def of_class(self, classroom_id: str) -> Sequence[Assignment]:
        """Newest first."""

    def for_student(self, person_id: str) -> Sequence[tuple[Assignment, Classroom]]:
        """Those that are open, of the classes whose student the person is, newest first."""

    def last_used(self, person_id: str) -> str:
        """The id of the one that one of the person's latest boards was handed in to last, or empty."""

    def take_back(self, classroom_id: str, person_id: str) -> None:
        """That person's boards are handed in to this class no longer."""


class AllMeasures(Protocol):
    """The numbers of measured boards, by board; removed with it."""

    def put(self, measures: Measures) -> None: ...
    def remove(self, board_id: str) -> None: ...
    def of_board(self, board_id: str) -> Measures | None: ...
    def of_person(self, person_id: str) -> Sequence[Measures]:
        """Oldest board first."""


class AllPracticeCuts(Protocol):
    """Measured boards of practice cuts."""

    def latest(self, wanted: Wanted, most: int) -> Sequence[LoggedCuts]:
        """The latest of a person, narrowed to wood, saw and days; oldest first."""


class AllLogNumbers(Protocol):
    """What the log's charts rest on, by board; removed with it."""

    def put(self, numbers: LogNumbers) -> None: ...
    def remove(self, board_id: str) -> None: ...
    def latest(self, wanted: Wanted, most: int, *, driven: bool = False) -> Sequence[Logged]:
        """The latest measured boards of a person, narrowed to wood, saw and days; oldest first.

        Only those that somebody said of how they fitted, if that is asked for.
        """

    def latest_driven(self, shown: Mapping[str, Sequence[str] | None], most: int) -> Mapping[str, Sequence[Logged]]:
        """By person the latest that somebody said of how they fitted, handed in to these classes (None: all)."""

    def answered_at(self, board_ids: Iterable[str]) -> Mapping[str, datetime]:
        """By board, when the answer was given that its numbers are of, where that is known."""

    def of_board(self, board_id: str) -> Logged | None: ...


class AllTogether(Protocol):
    """What boards' photos say together, by board; removed with it."""

    def put(self, together: Together) -> None: ...
    def of_board(self, board_id: str) -> Together | None: ...


class HandedIn(Protocol):
    """The boards that a class's students handed in. Boards are sorted by when they were begun."""

    def counts(self, classroom_id: str) -> Mapping[str, tuple[int, int]]:
        """By assignment: how many boards there are, and of how many people."""

    def periods(self, classroom_id: str, people: Iterable[str], most: int) -> Mapping[str, Sequence[Measures]]:
        """By person: the first `most` measured boards and the last, each once, oldest first."""

    def since(self, classroom_id: str, people: Iterable[str], moment: datetime) -> Mapping[str, Sequence[Measures]]:
        """By person: the measured boards begun since then, oldest first."""

    def last_boards(self, classroom_id: str, people: Iterable[str], most: int) -> Mapping[str, Sequence[Board]]:
        """By person: the latest boards, newest first."""

    def latest(self, assignment_ids: Iterable[str]) -> Mapping[str, Mapping[str, Measures]]:
        """By assignment and person: the latest measured board."""

    def of_assignment(self, assignment_id: str, person_id: str = "", most: int | None = None) -> Sequence[Board]:
        """Everybody's boards for that assignment, or one person's, newest first."""

    def totals(self, assignment_id: str) -> Mapping[str, int]:
        """By person: how many boards there are for that assignment."""

    def of_class(self, classroom_id: str) -> Iterable[tuple[Board, Measures | None]]:
        """All boards, oldest first, without loading them all at once."""


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
    def corrections(self) -> Corrections: ...
    @property
    def fits(self) -> Fits: ...
    @property
    def jobs(self) -> Jobs: ...
    @property
    def devices(self) -> Devices: ...
    @property
    def accounts(self) -> Accounts: ...
    @property
    def classes(self) -> Classes: ...
    @property
    def assignments(self) -> Assignments: ...
    @property
    def measures(self) -> AllMeasures: ...
    @property
    def practice_cuts(self) -> AllPracticeCuts: ...
    @property
    def log_numbers(self) -> AllLogNumbers: ...
    @property
    def together(self) -> AllTogether: ...
    @property
    def handed_in(self) -> HandedIn: ...
    @property
    def reviews(self) -> Reviews: ...
    @property
    def review_queue(self) -> ReviewQueue: ...
    @property
    def saved_remarks(self) -> SavedRemarks: ...

    def commit(self) -> None: ...
    def lock_photos(self) -> None:
        """Until the end of this transaction nobody else puts or removes files together with rows; asked for first."""


class PhotoStore(Protocol):
    """Files by the hash of their content: the same bytes are stored once."""

    def name_of(self, data: bytes, kind: str) -> str:
        """The name that these bytes have in the store, or would have."""

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


class Kept(Protocol):
    """What is kept beside the log, by name: plans to hold an end against, and measured prints of the card."""

    def plans(self) -> Sequence[str]: ...
    def prints(self) -> Sequence[str]: ...


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
    kept: Kept
