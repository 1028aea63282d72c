"""Who of the invented school sawed which board when, worked out from a seed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from service.demo.drawing import SawnEnd
from service.demo.sawing import leans_deg, places_mm
from service.demo.school import Course, Learner, School, Task

DAYS = 60
"""Two months."""
EARLIEST_H, LATEST_H = 9.0, 19.0
"""Hours of the day (UTC) between which anybody saws."""


@dataclass(frozen=True)
class Planned:
    """One board: whose, how many days back, for which task of which course (None is for nobody), and what to draw."""

    student: str
    days_back: float
    name: str
    plan: str
    saw: str
    end: SawnEnd
    seed: int
    course: Course | None = None
    task: Task | None = None


def timetable(school: School, rng: np.random.Generator) -> Sequence[Planned]:
    """All boards, oldest first."""
    boards = [*_for_courses(school, rng), *_for_practice(school, rng)]
    return sorted(boards, key=lambda board: -board.days_back)


def _for_courses(school: School, rng: np.random.Generator) -> Iterator[Planned]:
    learners = {learner.login: learner for learner in school.learners}
    for course in school.courses:
        for task in course.tasks:
            for login in course.students:
                for number, day in enumerate(_days(task, rng), start=1):
                    name = f"{task.title}, try {number} (drawn)"
                    yield _board(learners[login], day, name, task, rng, course)


def _for_practice(school: School, rng: np.random.Generator) -> Iterator[Planned]:
    """Boards that are nobody's business, like the first task's."""
    for learner in school.learners:
        for number in range(1, learner.practice + 1):
            day = _moment(rng.uniform(3.0, DAYS - 3.0), rng)
            yield _board(learner, day, f"Practice at home {number} (drawn)", school.courses[0].tasks[0], rng)


def _days(task: Task, rng: np.random.Generator) -> Sequence[float]:
    """When somebody sawed the boards for a task, oldest first: one in every equal part of its span."""
    begun, ended = task.days
    parts = begun - (np.arange(task.boards) + rng.uniform(0.1, 0.9, task.boards)) * (begun - ended) / task.boards
    return [_moment(part, rng) for part in parts]


def _moment(days_back: float, rng: np.random.Generator) -> float:
    """That day at an hour when people saw, in days back from the last midnight."""
    return float(int(days_back) - rng.uniform(EARLIEST_H, LATEST_H) / 24.0)


def _board(
    learner: Learner, days_back: float, name: str, task: Task, rng: np.random.Generator, course: Course | None = None
) -> Planned:
    progress = float(np.clip(1.0 - days_back / DAYS, 0.0, 1.0))
    places = places_mm(task.width_mm, task.tails, rng)
    leans = leans_deg(learner.habit, progress, task.tails, rng)
    end = SawnEnd(task.species, task.width_mm, task.thickness_mm, places, leans)
    plan, seed = f"{task.tails} tails", int(rng.integers(2**31))
    return Planned(learner.login, days_back, name, plan, learner.saw, end, seed, course, task if course else None)
