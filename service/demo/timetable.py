"""Who of the invented school sawed which board when, worked out from a seed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from service.demo.drawing import SawnEnd
from service.demo.sawing import cut_leans_deg, cut_places_mm, leans_deg, places_mm
from service.demo.school import Course, Learner, School, Task
from service.domain.check import View

DAYS = 60
"""Two months."""
CUTS, SCRAP_MM, SCRAP_WOOD = 8, (72.0, 16.0), "pine"
"""Practice cuts in one scrap, its width and thickness, and its wood."""
EARLIEST_H, LATEST_H = 9.0, 19.0
"""Hours of the day (UTC) between which anybody saws."""


@dataclass(frozen=True)
class Planned:
    """One board: whose, how many days back, for which task of which course (None is for nobody), what to draw, and as
    what it is sent."""

    student: str
    days_back: float
    name: str
    plan: str
    saw: str
    end: SawnEnd
    seed: int
    course: Course | None = None
    task: Task | None = None
    view: View = "end"


def timetable(school: School, rng: np.random.Generator) -> Sequence[Planned]:
    """All boards, oldest first."""
    (of_cuts,) = rng.spawn(1)  # so that no other board changes with them
    boards = [*_for_courses(school, rng), *_for_practice(school, rng), *_practice_cuts(school, of_cuts)]
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


def _practice_cuts(school: School, rng: np.random.Generator) -> Iterator[Planned]:
    """Scraps with practice cuts, over all the time."""
    for learner in school.learners:
        for number, day in enumerate(_spread((DAYS - 1, 1), learner.scraps, rng), start=1):
            leans, places = cut_leans_deg(learner.habit, _progress(day), CUTS, rng), cut_places_mm(SCRAP_MM[0], CUTS)
            end, seed = SawnEnd(SCRAP_WOOD, *SCRAP_MM, places, leans), int(rng.integers(2**31))
            name = f"Practice cuts {number} (drawn)"
            yield Planned(learner.login, day, name, "", learner.saw, end, seed, view="drill")


def _days(task: Task, rng: np.random.Generator) -> Sequence[float]:
    """When somebody sawed the boards for a task, oldest first."""
    return _spread(task.days, task.boards, rng)


def _spread(days: tuple[int, int], boards: int, rng: np.random.Generator) -> Sequence[float]:
    """Moments for so many boards, oldest first: one in every equal part of that span."""
    begun, ended = days
    parts = begun - (np.arange(boards) + rng.uniform(0.1, 0.9, boards)) * (begun - ended) / max(boards, 1)
    return [_moment(part, rng) for part in parts]


def _progress(days_back: float) -> float:
    """How far somebody is by then, from 0 to 1."""
    return float(np.clip(1.0 - days_back / DAYS, 0.0, 1.0))


def _moment(days_back: float, rng: np.random.Generator) -> float:
    """That day at an hour when people saw, in days back from the last midnight."""
    return float(int(days_back) - rng.uniform(EARLIEST_H, LATEST_H) / 24.0)


def _board(
    learner: Learner, days_back: float, name: str, task: Task, rng: np.random.Generator, course: Course | None = None
) -> Planned:
    progress = _progress(days_back)
    places = places_mm(task.width_mm, task.tails, rng)
    leans = leans_deg(learner.habit, progress, task.tails, rng)
    end = SawnEnd(task.species, task.width_mm, task.thickness_mm, places, leans)
    plan, seed = f"{task.tails} tails", int(rng.integers(2**31))
    return Planned(learner.login, days_back, name, plan, learner.saw, end, seed, course, task if course else None)
