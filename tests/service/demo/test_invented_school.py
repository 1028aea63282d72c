"""The invented school: nobody is real, everybody saws by their habit, and there are boards enough to judge them by."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from service.demo.driving import decision, fault, outcomes, worst_walls
from service.demo.sawing import Habit, cut_leans_deg, cut_places_mm, leans_deg, places_mm
from service.demo.school import School, read_school
from service.demo.timetable import DAYS, timetable
from service.practice.progress import FEWEST


@pytest.fixture(scope="module")
def school() -> School:
    return read_school()


def test_everybody_and_every_class_is_named_as_invented(school: School) -> None:
    named = [*school.teachers, *school.learners, *school.courses]
    assert all(each.name.endswith("(invented)") for each in named)
    assert "Invented" in school.name


def test_there_are_two_instructors_a_dozen_students_and_two_classes_one_of_them_shared(school: School) -> None:
    assert [len(each) for each in (school.teachers, school.learners, school.courses)] == [2, 12, 2]
    assert len(school.courses[0].instructors) == 2
    in_both = set(school.courses[0].students) & set(school.courses[1].students)
    assert len(in_both) == 1  # a student can be in several


def test_every_student_hands_in_enough_boards_to_be_judged(school: School) -> None:
    planned = timetable(school, np.random.default_rng(1))
    counts = Counter(board.student for board in planned if board.task)
    assert set(counts) == {learner.login for learner in school.learners}
    assert min(counts.values()) >= 2 * FEWEST


def test_the_timetable_runs_over_two_months_up_to_these_days(school: School) -> None:
    days = [board.days_back for board in timetable(school, np.random.default_rng(1))]
    assert days == sorted(days, reverse=True)
    assert 0.0 < min(days) < 5.0
    assert DAYS - 5.0 < max(days) <= DAYS


def test_the_same_seed_makes_the_same_timetable(school: School) -> None:
    first, again = (timetable(school, np.random.default_rng(7)) for _ in range(2))
    assert first == again


def test_leans_follow_the_habit_from_the_first_board_to_the_last() -> None:
    """Means of 400 boards: the scatter of 0.2 degrees leaves 0.01, and five times that is never passed by chance."""
    habit, rng = Habit((0.8, 0.0), (-0.4, 0.2), (0.2, 0.2), boards_deg=0.0), np.random.default_rng(2)
    for progress, left, right in ((0.0, 0.8, -0.4), (1.0, 0.0, 0.2)):
        leans = np.array([leans_deg(habit, progress, 2, rng) for _ in range(400)])
        assert leans[:, ::2].mean() == pytest.approx(left, abs=0.05)
        assert leans[:, 1::2].mean() == pytest.approx(right, abs=0.05)


def test_walls_lie_in_their_order_within_the_board() -> None:
    places = places_mm(60.0, 3, np.random.default_rng(1))
    assert list(places) == sorted(places)
    assert places[0] > 2.0
    assert places[-1] < 58.0


def socket(gap_mm: float, squeeze_mm: float) -> dict[str, object]:
    """A socket as results tell it, known to 0.02 mm, where a gap of 0.1 mm and a squeeze of 0.08 mm are allowed."""
    told = {"gap": (gap_mm, 0.1), "squeeze": (squeeze_mm, 0.08)}
    values = {f"{name}_mm": value for name, (value, _) in told.items()}
    intervals = {f"{name}_interval_mm": (value - 0.02, value + 0.02) for name, (value, _) in told.items()}
    return values | intervals | {f"{name}_limit_mm": limit for name, (_, limit) in told.items()}


def test_pins_do_what_was_foretold_as_often_as_it_was_foretold() -> None:
    """400 pins of each kind: an even chance comes out within five standard deviations, 0.125."""
    kinds = [socket(0.0, 0.0), socket(0.2, 0.0), socket(0.0, 0.2), socket(0.1, 0.0)]
    found = outcomes(kinds * 400, np.random.default_rng(3))
    seats, loose, splitting, even = (Counter(found[n] for n in range(first, 1600, 4)) for first in range(4))
    assert (seats["seated"], loose["loose"], splitting["split"]) == (400, 400, 400)
    assert set(even) == {"seated", "loose"}
    assert even["loose"] / 400 == pytest.approx(0.5, abs=0.125)


def test_what_was_foretold_with_less_than_one_per_cent_does_not_happen() -> None:
    """A gap 2.5 standard deviations below its limit: one pin in 160 would be loose."""
    found = outcomes([socket(0.1 - 2.5 * 0.02 / 1.96, 0.0)] * 2000, np.random.default_rng(3))
    assert set(found.values()) == {"seated"}


def test_of_a_pin_whose_chances_were_not_told_nothing_is_said() -> None:
    assert outcomes([{"gap_mm": 0.2, "squeeze_mm": 0.0}], np.random.default_rng(3)) == {}


def walls(*leans: float) -> list[dict[str, float]]:
    return [{"lean_deg": lean, "lean_u95_deg": 0.1} for lean in leans]


def test_only_walls_that_lean_beyond_their_uncertainty_are_marked_the_worst_first() -> None:
    assert worst_walls(walls(0.2, -0.5, 0.05, 0.3), most=2) == [1, 3]
    assert worst_walls(walls(0.05, -0.05), most=2) == []


@pytest.mark.parametrize(
    ("leans", "named"),
    [((-0.5, -0.4, -0.3), "left"), ((0.5, 0.4, 0.3), "right"), ((-0.5, 0.4, 0.3), "both"), ((0.05, 0.0, 0.3), "none")],
)
def test_the_fault_is_named_by_the_walls_that_lean(school: School, leans: tuple[float, ...], named: str) -> None:
    assert fault(walls(*leans)) == named
    assert school.remarks[named]


def test_an_instructor_mostly_decides_as_the_tool_advises() -> None:
    rng = np.random.default_rng(5)
    decided = Counter(decision("start over", rng) for _ in range(200))
    assert set(decided) == {"start over", "pare"}
    assert decided["start over"] > 150
    assert {decision("transfer", rng) for _ in range(20)} == {"transfer"}


def test_practice_boards_are_handed_in_to_nobody(school: School) -> None:
    alone = replace(school, courses=[replace(school.courses[0], students=[]), *school.courses[1:]])
    practised = [board for board in timetable(alone, np.random.default_rng(1)) if board.name.startswith("Practice")]
    assert practised
    assert all(board.task is None and board.course is None for board in practised)


def test_a_few_saw_practice_cuts_enough_of_one_to_tell_whether_they_get_better(school: School) -> None:
    planned = timetable(school, np.random.default_rng(1))
    scraps = [board for board in planned if board.view == "drill"]
    counts = Counter(board.student for board in scraps)
    assert counts == {learner.login: learner.scraps for learner in school.learners if learner.scraps}
    assert max(counts.values()) >= 2 * FEWEST
    assert all(board.task is None and board.name.endswith("(drawn)") for board in scraps)


def test_practice_cuts_change_no_other_board(school: School) -> None:
    without = replace(school, learners=[replace(learner, scraps=0) for learner in school.learners])
    planned = [board for board in timetable(school, np.random.default_rng(1)) if board.view == "end"]
    assert planned == timetable(without, np.random.default_rng(1))


def test_practice_cuts_lean_as_both_sides_do_on_average() -> None:
    """Means of 400 scraps: as for walls, five hundredths of a degree are never passed by chance."""
    habit, rng = Habit((0.8, 0.0), (-0.4, 0.2), (0.2, 0.2), boards_deg=0.0), np.random.default_rng(2)
    for progress, usual in ((0.0, 0.2), (1.0, 0.1)):
        leans = np.array([cut_leans_deg(habit, progress, 8, rng) for _ in range(400)])
        assert leans.mean() == pytest.approx(usual, abs=0.05)
    assert cut_places_mm(72.0, 8) == pytest.approx(np.arange(8.0, 72.0, 8.0))
