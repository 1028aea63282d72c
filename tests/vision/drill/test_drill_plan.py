"""What people tell of their cuts: the order, the leans meant, the side of the line."""

from __future__ import annotations

import pytest

from vision.drill.plan import DrillPlan, Intent, PlanMismatch, intents_from, keeps_from, numbers_from, order_from


def test_cuts_run_from_left_to_right_unless_told() -> None:
    assert DrillPlan().sequence(4) == [0, 1, 2, 3]
    assert DrillPlan(order_from("left-to-right")).sequence(3) == [0, 1, 2]
    assert DrillPlan(order_from("right-to-left")).sequence(3) == [2, 1, 0]


def test_an_order_names_the_cuts_from_the_left_as_they_were_made() -> None:
    assert DrillPlan(order_from("3,1,2")).sequence(3) == [2, 0, 1]


@pytest.mark.parametrize("order", ["1,2", "1,2,2", "0,1,2", "1,2,4"])
def test_an_order_that_does_not_name_each_cut_once_is_a_mismatch(order: str) -> None:
    with pytest.raises(PlanMismatch, match="each of the 3 cuts"):
        DrillPlan(order_from(order)).sequence(3)


@pytest.mark.parametrize("text", ["3,1,2", "3 1 2", " 3. 1. 2 ", "3;1;2,"])
def test_numbers_may_be_typed_with_anything_between_them(text: str) -> None:
    assert numbers_from(text) == (3, 1, 2)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "such as 3,1,2$"),
        ("1,b", "got 'b'"),
        ("-1,2", "got '-1'"),
        ("2,²", "got '²'"),
        ("0,1", "names a cut 0"),
        ("2,2", "names cut 2 more than once"),
        ("1,2,5", "names cut 5 but not cut 3"),
        ("2", "names cut 2 but not cut 1"),
    ],
)
def test_numbers_that_do_not_name_every_cut_once_are_refused_in_words(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        numbers_from(text)


@pytest.mark.parametrize("text", ["", "²", "1;2", "backwards", "1.5,2"])
def test_an_order_of_something_else_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="must be left-to-right"):
        order_from(text)


def test_one_intention_is_for_all_cuts_and_two_take_turns() -> None:
    assert DrillPlan(intents=intents_from("2")).intents_of(3) == [Intent(2.0, "right")] * 3
    turns = DrillPlan(intents=intents_from("7,-7")).intents_of(3)
    assert turns == [Intent(7.0, "right"), Intent(-7.0, "left"), Intent(7.0, "right")]


def test_a_slope_that_does_not_show_on_the_end_has_a_side_and_no_lean() -> None:
    assert intents_from("left, right, 0") == (Intent(0.0, "left"), Intent(0.0, "right"), Intent(0.0, None))


def test_more_than_two_intentions_must_be_one_for_each_cut() -> None:
    assert len(DrillPlan(intents=intents_from("1,2,3")).intents_of(3)) == 3
    with pytest.raises(PlanMismatch, match="3 intended leans were told, but the photo shows 5 cuts"):
        DrillPlan(intents=intents_from("1,2,3")).intents_of(5)


@pytest.mark.parametrize("text", ["", "7;-7", "nan", "inf", "15.1", "up"])
def test_an_intention_that_no_joint_has_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="must be left, right or degrees up to 15"):
        intents_from(text)


def test_the_side_of_the_line_may_take_turns() -> None:
    assert DrillPlan(keeps=keeps_from("left,right")).keeps_of(3) == ["left", "right", "left"]
    with pytest.raises(ValueError, match="must be left, right or both"):
        keeps_from("middle")
