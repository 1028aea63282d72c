"""The invented people join, and their classes and assignments are made: through the use cases, as in any school."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from service.demo.school import Course, Learner, School, Task, Teacher
from service.domain.assignment import Assignment
from service.domain.classroom import Classroom
from service.domain.person import Person
from service.use_cases.keep_class import join_class, new_class, share_class, show_all_boards
from service.use_cases.keep_log import choose_units
from service.use_cases.ports import Ports
from service.use_cases.saved_remarks import save_remark
from service.use_cases.set_work import set_assignment
from service.use_cases.sign_in import invite, join, join_with_class, list_people, sign_out

DAYS_BEFORE = 3
"""People join so long before the first board."""
DAYS_LEFT = 5
"""So long after the last board for it an assignment is due."""


@dataclass
class Clock:
    """Tells the time that it is set to: two months pass in a minute."""

    moment: datetime

    @contextmanager
    def at(self, moment: datetime) -> Iterator[None]:
        """Within, it is that moment."""
        before, self.moment = self.moment, moment
        try:
            yield
        finally:
            self.moment = before


@dataclass(frozen=True)
class Enrolled:
    """People by login, and classes and assignments by name and title."""

    people: Mapping[str, Person]
    classes: Mapping[str, Classroom]
    work: Mapping[str, Assignment]


def enrol(school: School, password: str, first_day: datetime, ports: Ports, clock: Clock) -> Enrolled:
    """Everybody with an account and that password, in their classes, which have their assignments."""
    with clock.at(first_day - timedelta(days=DAYS_BEFORE)):
        for teacher in school.teachers:
            _join_teacher(teacher, password, ports)
        staff = _people(ports)
        classes = {course.name: _open_class(course, staff, ports) for course in school.courses}
        for learner in school.learners:
            _join_learner(learner, school, classes, password, ports)
        people = _people(ports)
        for teacher in school.teachers:
            for remark in school.remarks["saved"]:
                save_remark(people[teacher.login], remark, ports)
    return Enrolled(people, classes, _set_work(school, people, classes, first_day, ports, clock))


def _people(ports: Ports) -> dict[str, Person]:
    return {login: person for person, login in list_people(ports)}


def _join_teacher(teacher: Teacher, password: str, ports: Ports) -> None:
    sign_out(join(invite(teacher.role, ports), teacher.name, teacher.login, password, ports), ports)


def _open_class(course: Course, staff: Mapping[str, Person], ports: Ports) -> Classroom:
    first, *others = course.instructors
    classroom = new_class(staff[first], course.name, ports)
    for other in others:
        share_class(staff[first], classroom.id, staff[other].id, ports)
    return classroom


def _join_learner(
    learner: Learner, school: School, classes: Mapping[str, Classroom], password: str, ports: Ports
) -> None:
    """An account by the first class's code; then the other classes."""
    first, *others = [classes[course.name] for course in school.courses if learner.login in course.students]
    sign_out(join_with_class(first.join_code, learner.name, learner.login, password, ports), ports)
    person = choose_units(_people(ports)[learner.login].id, learner.units, ports)
    for classroom in others:
        join_class(person, classroom.join_code, ports)
    if learner.shows_all:
        show_all_boards(person, first.id, True, ports)


def _set_work(
    school: School,
    people: Mapping[str, Person],
    classes: Mapping[str, Classroom],
    first_day: datetime,
    ports: Ports,
    clock: Clock,
) -> dict[str, Assignment]:
    """Each assignment a day before its first board."""
    work = {}
    for course in school.courses:
        for task in course.tasks:
            begun = first_day + timedelta(days=_first(school) - task.days[0] - 1)
            with clock.at(begun):
                wanted = _assignment(task, classes[course.name].id, begun)
                work[task.title] = set_assignment(people[course.instructors[0]], wanted, ports)
    return work


def _first(school: School) -> int:
    """How many days back the first task began."""
    return max(task.days[0] for course in school.courses for task in course.tasks)


def _assignment(task: Task, classroom: str, begun: datetime) -> Assignment:
    due = (begun + timedelta(days=task.days[0] - task.days[1] + DAYS_LEFT)).date()
    plain = Assignment("", classroom, task.title, begun, task.what_to_cut, task.species, f"{task.tails} tails", due)
    return replace(plain, policy=task.policy)
