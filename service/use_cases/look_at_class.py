"""A class as its instructors see it, as its students do, and one assignment as each of them does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

from service.domain.assignment import Assignment
from service.domain.board import Board
from service.domain.check import Check
from service.domain.classroom import Classroom, Membership
from service.domain.measures import Measures
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.practice.class_view import (
    PERIOD,
    WEEK,
    CommonFault,
    Distribution,
    Standing,
    class_sentences,
    common_fault,
    distribution,
    standings,
)
from service.practice.slopes import class_sentence
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import assignment_to_see, class_to_run, class_to_see

LAST_BOARDS = 4
"""So many of each student are shown."""
MOST_BOARDS = 200
"""So many are shown of one student's for one assignment."""
WITH_DISTRIBUTION = 8
"""The class page shows how so many assignments came out, the newest; each one's own page does so for all."""


@dataclass(frozen=True)
class Student:
    """One student of a class: how they stand in it, and their latest boards, newest first."""

    person: Person
    membership: Membership
    standing: Standing
    boards: Sequence[Board]


@dataclass(frozen=True)
class Work:
    """An assignment, how many boards of how many people there are for it, and how it came out, if that is known.

    `slopes` says how the slopes of those boards came out of which a face is measured; empty where none is.
    """

    assignment: Assignment
    boards: int = 0
    people: int = 0
    outcome: Distribution | None = None
    slopes: str = ""


@dataclass(frozen=True)
class ClassView:
    """A class for those who are in it. Students and fault are for instructors: for a student they are empty.

    `students` come with who needs help first; `own` are a student's boards by assignment, newest first.
    """

    classroom: Classroom
    membership: Membership
    instructors: Sequence[Person]
    work: Sequence[Work]
    students: Sequence[Student] = ()
    fault: CommonFault | None = None
    sentences: Sequence[str] = ()
    own: Mapping[str, Sequence[Board]] | None = None

    @property
    def runs(self) -> bool:
        """Whether the one who looks instructs it."""
        return self.membership.as_ == "instructor"


@dataclass(frozen=True)
class HandedIn:
    """One student's boards for an assignment: the latest, newest first, and how many there are in all."""

    person: Person
    boards: Sequence[Board]
    total: int


@dataclass(frozen=True)
class AssignmentView:
    """An assignment with the boards that were handed in to it, by student.

    For a student that is themselves alone; `missing` are the students who handed in nothing yet.
    """

    assignment: Assignment
    classroom: Classroom
    runs: bool
    handed_in: Sequence[HandedIn]
    missing: Sequence[Person] = ()
    outcome: Distribution | None = None
    slopes: str = ""


def look_at_class(asking: Person, classroom_id: str, ports: Ports) -> ClassView:
    """The class as that person may see it. Raises NotFoundError."""
    with ports.reading() as uow:
        classroom = class_to_see(classroom_id, asking, uow)
        members = uow.classes.members(classroom_id)
        mine = next(membership for person, membership in members if person.id == asking.id)
        instructors = [person for person, membership in members if membership.as_ == "instructor"]
        if mine.as_ == "student":
            return _for_student(uow, classroom, mine, instructors)
        students = [(person, membership) for person, membership in members if membership.as_ == "student"]
        return _for_instructor(uow, classroom, mine, instructors, students, ports.now())


def class_progress(asking: Person, classroom_id: str, ports: Ports) -> ClassView:
    """The class as its instructors see it. Raises NotFoundError for everyone else."""
    view = look_at_class(asking, classroom_id, ports)
    if not view.runs:
        raise NotFoundError
    return view


def work_of_class(asking: Person, classroom_id: str, ports: Ports) -> Sequence[Assignment]:
    """The assignments of a class that this person is in, newest first. Raises NotFoundError."""
    with ports.reading() as uow:
        class_to_see(classroom_id, asking, uow)
        return uow.assignments.of_class(classroom_id)


def look_at_work(asking: Person, assignment_id: str, ports: Ports, student: str = "") -> AssignmentView:
    """An assignment with its boards, as that person may see them: everybody's latest, or all of one `student`'s.

    Raises NotFoundError.
    """
    with ports.reading() as uow:
        assignment = assignment_to_see(assignment_id, asking, uow)
        classroom = uow.classes.get(assignment.classroom)
        members = uow.classes.members(classroom.id)
        mine = next(membership for person, membership in members if person.id == asking.id)
        totals = uow.handed_in.totals(assignment_id)
        if mine.as_ == "student":
            return AssignmentView(assignment, classroom, False, _handed_in(uow, assignment_id, [asking], totals, True))
        students = [person for person, membership in members if membership.as_ == "student"]
        chosen = [person for person in students if student in ("", person.id)]
        missing = [person for person in students if person.id not in totals]
        latest = uow.handed_in.latest([assignment_id])
        outcome, slopes = distribution(latest.get(assignment_id, {})), _slopes(uow, [assignment], latest)
        shown = _handed_in(uow, assignment_id, chosen, totals, bool(student))
        return AssignmentView(assignment, classroom, True, shown, missing, outcome, slopes.get(assignment_id, ""))


def members_of(asking: Person, classroom_id: str, ports: Ports) -> Sequence[tuple[Person, Membership]]:
    """Everybody in a class that this person instructs, by name. Raises NotFoundError."""
    with ports.reading() as uow:
        class_to_run(classroom_id, asking, uow)
        return uow.classes.members(classroom_id)


def _for_student(uow: UnitOfWork, classroom: Classroom, mine: Membership, instructors: Sequence[Person]) -> ClassView:
    work = [Work(assignment) for assignment in uow.assignments.of_class(classroom.id)]
    own = {
        each.assignment.id: uow.handed_in.of_assignment(each.assignment.id, mine.person, LAST_BOARDS) for each in work
    }
    return ClassView(classroom, mine, instructors, work, own=own)


def _for_instructor(
    uow: UnitOfWork,
    classroom: Classroom,
    mine: Membership,
    instructors: Sequence[Person],
    members: Sequence[tuple[Person, Membership]],
    now: datetime,
) -> ClassView:
    people = {person.id: (person, membership) for person, membership in members}
    found = standings(uow.handed_in.periods(classroom.id, people, PERIOD))
    since = datetime.combine(now.date() - WEEK + timedelta(days=1), time(), UTC)
    fault = common_fault(uow.handed_in.since(classroom.id, people, since), now.date())
    boards = uow.handed_in.last_boards(classroom.id, people, LAST_BOARDS)
    students = [Student(*people[each.person], each, boards[each.person]) for each in found]
    sentences = class_sentences(found, fault, {each: person.name for each, (person, _) in people.items()})
    return ClassView(classroom, mine, instructors, _work(uow, classroom.id), students, fault, sentences)


def _work(uow: UnitOfWork, classroom_id: str) -> Sequence[Work]:
    assignments, counts = uow.assignments.of_class(classroom_id), uow.handed_in.counts(classroom_id)
    latest = uow.handed_in.latest([assignment.id for assignment in assignments[:WITH_DISTRIBUTION]])
    outcomes = {assignment: distribution(boards) for assignment, boards in latest.items()}
    slopes = _slopes(uow, assignments, latest)
    return [
        Work(each, *counts.get(each.id, (0, 0)), outcomes.get(each.id), slopes.get(each.id, "")) for each in assignments
    ]


def _slopes(
    uow: UnitOfWork, assignments: Sequence[Assignment], latest: Mapping[str, Mapping[str, Measures]]
) -> Mapping[str, str]:
    """How the slopes of each person's latest board came out, by assignment, where it asks for any."""
    asking = [each for each in assignments if each.policy.slope and each.id in latest]
    boards = {each.id: [measures.board for measures in latest[each.id].values()] for each in asking}
    faces: dict[str, list[Check]] = {}
    for check in uow.checks.faces_of(board for some in boards.values() for board in some):
        faces.setdefault(check.board, []).append(check)
    return {
        each.id: class_sentence([faces.get(board, ()) for board in boards[each.id]], each.policy) for each in asking
    }


def _handed_in(
    uow: UnitOfWork, assignment_id: str, people: Sequence[Person], totals: Mapping[str, int], all_boards: bool
) -> Sequence[HandedIn]:
    most = MOST_BOARDS if all_boards else LAST_BOARDS
    return [
        HandedIn(person, uow.handed_in.of_assignment(assignment_id, person.id, most), totals[person.id])
        for person in people
        if person.id in totals
    ]
