"""Assignments: what may be asked for, and what handing in does to a board."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from service.domain.assignment import Assignment, Policy, handed_in, taken_back
from service.domain.board import Board, Details
from service.domain.mistakes import MistakeError
from tests.service.house import BEGIN
from vision.joint.seating import Limits

WORK = Assignment("a", "c", "Three tails", BEGIN, species="cherry", plan="tray", due=date(2026, 3, 31))


def test_an_assignment_judges_as_a_check_without_a_class_unless_it_says_otherwise() -> None:
    policy, usual = Policy(), Limits()
    for name in ("gap_mm", "squeeze_softwood_mm", "squeeze_hardwood_mm", "half_pin_factor", "paring_allowed"):
        assert getattr(policy, name) == getattr(usual, name)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("gap_mm", 0.0),
        ("gap_mm", 2.5),
        ("gap_mm", float("nan")),
        ("squeeze_softwood_mm", -0.1),
        ("squeeze_hardwood_mm", 0.0),
        ("half_pin_factor", 1.1),
        ("slope_steepest_n", 1.0),
        ("slope_flattest_n", 20.0),
    ],
)
def test_a_limit_that_no_joint_has_is_a_mistake_with_its_field(field: str, value: float) -> None:
    with pytest.raises(MistakeError) as caught:
        Policy(**{field: value})  # type: ignore[arg-type]
    assert caught.value.field == field


def test_limits_are_taken_up_to_the_last_one_that_a_joint_may_have() -> None:
    largest = {"gap_mm": 2.0, "squeeze_softwood_mm": 2.0, "squeeze_hardwood_mm": 2.0, "half_pin_factor": 1.0}
    widest = Policy(**largest, slope_steepest_n=3.0, slope_flattest_n=12.0)  # type: ignore[arg-type]
    assert widest.slope == "1:3 to 1:12"
    for name, limit in (largest | {"slope_flattest_n": 12.0}).items():
        with pytest.raises(MistakeError):
            replace(widest, **{name: limit + 1e-9})  # type: ignore[arg-type]
    with pytest.raises(MistakeError, match="between 1:3 and 1:12"):
        replace(widest, slope_steepest_n=3.0 - 1e-9)
    smallest = dict.fromkeys(largest, 1e-9)
    assert Policy(**smallest).half_pin_factor == 1e-9  # type: ignore[arg-type]


def test_the_steepest_slope_comes_before_the_flattest() -> None:
    with pytest.raises(MistakeError, match="1:6 before 1:8"):
        Policy(slope_steepest_n=8.0, slope_flattest_n=6.0)


@pytest.mark.parametrize(
    ("steepest", "flattest", "told"),
    [
        (6.0, 8.0, "1:6 to 1:8"),
        (7.0, 7.0, "1:7"),
        (6.5, None, "1:6.5 or flatter"),
        (None, 8.0, "1:8 or steeper"),
        (None, None, ""),
    ],
)
def test_the_slopes_are_told_in_short(steepest: float | None, flattest: float | None, told: str) -> None:
    assert Policy(slope_steepest_n=steepest, slope_flattest_n=flattest).slope == told


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"title": " "}, "title"),
        ({"title": "x" * 81}, "title"),
        ({"plan": "x" * 401}, "plan"),
        ({"species": "\x00"}, "species"),
    ],
)
def test_an_assignment_needs_a_title_and_texts_that_can_be_kept(said: dict[str, Any], field: str) -> None:
    with pytest.raises(MistakeError) as caught:
        replace(WORK, **said)
    assert caught.value.field == field


def test_the_last_day_is_not_late_and_the_day_after_is() -> None:
    assert not WORK.is_late(datetime(2026, 3, 31, 23, 59, tzinfo=UTC))
    assert WORK.is_late(datetime(2026, 4, 1, tzinfo=UTC))
    assert not Assignment("a", "c", "Box", BEGIN).is_late(datetime(2999, 1, 1, tzinfo=UTC))


def test_a_board_handed_in_takes_wood_and_plan_where_nothing_was_said() -> None:
    bare = handed_in(Board("b", "ann", "Box", BEGIN), WORK, BEGIN)
    assert (bare.assignment, bare.assignment_title, bare.handed_in) == ("a", "Three tails", BEGIN)
    assert (bare.details.species, bare.details.plan) == ("cherry", "tray")
    told = handed_in(Board("b", "ann", "Box", BEGIN, Details("pine", plan="mine")), WORK, BEGIN)
    assert (told.details.species, told.details.plan) == ("pine", "mine")


def test_a_board_taken_back_is_for_nobody() -> None:
    back = taken_back(handed_in(Board("b", "ann", "Box", BEGIN), WORK, BEGIN))
    assert (back.assignment, back.assignment_title, back.handed_in) == ("", "", None)


def test_an_assignment_is_past_from_the_day_after_its_last_and_when_it_is_closed() -> None:
    assert [WORK.is_past(date(2026, *day)) for day in ((3, 31), (4, 1))] == [False, True]
    assert not replace(WORK, due=None).is_past(date(2026, 4, 1))
    assert replace(WORK, due=None, closed=True).is_past(date(2026, 4, 1))
