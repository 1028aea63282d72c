"""The invented school as `school.toml` tells it: who teaches and learns what, how they saw, and what is said of it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from service.demo.sawing import Habit
from service.domain.assignment import Policy
from service.domain.check import View
from service.domain.person import Role, Units

FILE = Path(__file__).with_name("school.toml")
POLICY = tuple(field.name for field in fields(Policy))


@dataclass(frozen=True)
class Teacher:
    """An instructor, or the owner who instructs as well."""

    login: str
    name: str
    role: Role


@dataclass(frozen=True)
class Learner:
    """A student; `practice` boards are handed in to nobody, nor are `scraps` with practice cuts."""

    login: str
    name: str
    habit: Habit
    saw: str
    units: Units = "mm"
    shows_all: bool = False
    practice: int = 0
    scraps: int = 0


@dataclass(frozen=True)
class Task:
    """An assignment, the boards that are sawn for it, and the days, back from today, between which they are."""

    title: str
    what_to_cut: str
    species: str
    tails: int
    width_mm: float
    thickness_mm: float
    boards: int
    days: tuple[int, int]
    policy: Policy


@dataclass(frozen=True)
class Course:
    """A class: its name, the logins of who is in it, and its tasks, oldest first."""

    name: str
    instructors: Sequence[str]
    students: Sequence[str]
    tasks: Sequence[Task]


@dataclass(frozen=True)
class Sample:
    """A board whose photos are those of `sample_images`: of its end, and of its faces or practice cuts by view."""

    student: str
    name: str
    species: str
    day: int
    photos: Sequence[str]
    faces: Mapping[View, str] = field(default_factory=dict)


@dataclass(frozen=True)
class School:
    """All of it; `remarks` by fault."""

    name: str
    teachers: Sequence[Teacher]
    learners: Sequence[Learner]
    courses: Sequence[Course]
    samples: Sequence[Sample]
    remarks: Mapping[str, Any]


def read_school() -> School:
    """The school that comes with the program."""
    told = tomllib.loads(FILE.read_text(encoding="utf-8"))
    habits = {name: Habit.from_table(table) for name, table in told["habits"].items()}
    return School(
        told["name"],
        [Teacher(**table) for table in told["instructors"]],
        [Learner(**table | {"habit": habits[table["habit"]]}) for table in told["students"]],
        [_course(table) for table in told["classes"]],
        [Sample(**table) for table in told["samples"]],
        told["remarks"],
    )


def _course(table: Mapping[str, Any]) -> Course:
    tasks = [_task(each) for each in table["assignments"]]
    return Course(table["name"], table["instructors"], table["students"], tasks)


def _task(table: Mapping[str, Any]) -> Task:
    policy = Policy(**{name: table[name] for name in POLICY if name in table})
    others = {name: value for name, value in table.items() if name not in POLICY}
    return Task(**others | {"days": tuple(table["days"])}, policy=policy)
