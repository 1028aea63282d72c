"""A measured end against its plan: offsets per line, which side the saw went, and what stays open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from tests.vision.layouts import end_of, shaken
from vision.layout.plan import Plan
from vision.layout.plan_check import LINE_LIMIT_MM, PlanCheck, check_plan
from vision.layout.plan_words import check_row, check_sentences

PLAN = Plan(90.0, 19.0, 2, 7.0, 6.0, 1.0 / 6.0, 19.0, "box")
WIDTHS_MM = [7.0, 35.0, 6.0, 35.0, 7.0]
"""The plan's parts."""


def checked(
    shifts_mm: Sequence[float], u_mm: float = 0.02, kerf_mm: float | None = 0.6, out_mm: Sequence[float] = ()
) -> PlanCheck:
    """The plan's walls each moved right by `shifts_mm`."""
    places = np.cumsum(WIDTHS_MM) + np.array([*shifts_mm, 0.0])
    return check_plan(end_of(np.diff(places, prepend=0.0).tolist(), u_mm, kerf_mm, out_mm), PLAN)


def test_measured_minus_intended_is_told_at_both_faces_with_its_uncertainty() -> None:
    check = checked([0.1, -0.2, 0.0, 0.3], out_mm=[0.0, 0.0, 0.4, 0.0])
    assert [line.off_show.value for line in check.lines] == pytest.approx([0.1, -0.2, 0.0, 0.3])
    assert [line.off_transfer.value for line in check.lines] == pytest.approx([0.1, -0.2, 0.4, 0.3])
    assert all(line.off_show.u95 == pytest.approx(0.04) for line in check.lines)
    assert check.shift is not None
    assert check.shift.value == pytest.approx((0.1 - 0.2 + 0.2 + 0.3) / 4)
    assert check.shift.u95 == pytest.approx(0.04 / 2)  # four independent walls


def test_the_result_tells_the_shift_or_the_problem() -> None:
    told = checked([0.1] * 4).to_dict()
    assert (told["shift_mm"], told["shift_u95_mm"], told["problem"]) == (0.1, 0.02, None)
    told = check_plan(end_of([7.0, 76.0, 7.0]), PLAN).to_dict()
    assert (told["shift_mm"], told["shift_u95_mm"]) == (None, None)
    assert told["problem"] == "The plan has 2 tails, this end 1: its lines cannot be compared."


@pytest.mark.parametrize(
    ("shift", "left", "right"),
    [
        (0.0, "kept", "kept"),
        (0.5, "in the tail", "in the waste"),
        (-0.5, "in the waste", "in the tail"),
        (LINE_LIMIT_MM, "too close to call", "too close to call"),
    ],
)
def test_waste_lies_left_of_a_left_wall_and_right_of_a_right_wall(shift: float, left: str, right: str) -> None:
    assert [line.course for line in checked([shift] * 4).lines] == [left, right, left, right]


def test_a_cut_that_starts_in_the_waste_and_ends_in_the_tail_runs_across_the_line() -> None:
    check = checked([-0.4, 0.0, 0.0, 0.0], out_mm=[0.8, 0.0, 0.0, 0.0])
    assert [line.course for line in check.lines] == ["across the line", "kept", "kept", "kept"]


def test_a_line_is_not_called_kept_when_its_uncertainty_is_as_large_as_the_limit() -> None:
    assert {line.course for line in checked([0.0] * 4, u_mm=LINE_LIMIT_MM).lines} == {"too close to call"}


@pytest.mark.parametrize(("kerf_shift", "side"), [(0.0, "waste"), (1.0, "tail"), (0.5, "too close to call")])
def test_the_side_of_the_saw_is_that_of_the_kerfs_middle(kerf_shift: float, side: str) -> None:
    """The wall of the first tail moved right, into the tail, by 0, 1 and 1/2 kerf."""
    assert checked([0.6 * kerf_shift, 0.0, 0.0, 0.0]).lines[0].kerf_side == side


def test_once_the_waste_is_gone_nothing_is_said_of_the_kerf() -> None:
    assert {line.kerf_side for line in checked([0.0] * 4, kerf_mm=None).lines} == {None}


def test_a_saw_on_the_wrong_side_a_common_shift_and_another_width_are_told_in_words() -> None:
    places = np.array([*np.cumsum(WIDTHS_MM)[:-1] + 0.7, 90.4])
    sentences = check_sentences(check_plan(end_of(np.diff(places, prepend=0.0).tolist(), 0.02), PLAN))
    assert sentences[0] == "The saw went on the wrong side of the line, in the tail: tail 1 left, tail 2 left."
    assert sentences[1] == "All lines together lie 0.70 ± 0.02 mm to the right of the plan."
    assert sentences[2].startswith("The board is 0.40 ± 0.04 mm wider than planned")


@pytest.mark.parametrize(("wider_mm", "told"), [(-12.0, "12.00 ± 0.04 mm narrower"), (5.0, "5.00 ± 0.04 mm wider")])
def test_a_board_of_quite_another_width_is_asked_about_and_no_saw_is_blamed(wider_mm: float, told: str) -> None:
    places = np.cumsum(WIDTHS_MM) * (90.0 + wider_mm) / 90.0
    sentences = check_sentences(check_plan(end_of(np.diff(places, prepend=0.0).tolist(), 0.02), PLAN))
    assert sentences == [f"The board is {told} than planned: see whether this is its plan before you go by the lines."]


def test_lines_that_are_kept_leave_nothing_to_say() -> None:
    check = checked([0.0] * 4)
    assert check_sentences(check) == []
    assert check_row(check.lines[1]) == ("tail 1 right", "42.00", "0.00 ± 0.04", "0.00 ± 0.04", "kept to the line")
    assert check_row(check.lines[1], "inch")[1:3] == ("1.654", "0.0000 ± 0.0016")


def test_a_print_check_is_advised_where_places_are_too_close_to_call_without_one() -> None:
    advice = "Places are as uncertain as the card's printed size"
    end = end_of(WIDTHS_MM, LINE_LIMIT_MM)
    named = replace(end, print_cost=replace(end.print_cost, name="laser"))
    assert [any(advice in each for each in check_sentences(check_plan(one, PLAN))) for one in (end, named)] == [
        True,
        False,
    ]


def test_another_number_of_tails_is_not_compared() -> None:
    check = check_plan(end_of([7.0, 76.0, 7.0]), PLAN)
    assert check.lines == ()
    assert check_sentences(check) == ["The plan has 2 tails, this end 1: its lines cannot be compared."]


def test_a_wall_just_at_the_limit_is_seldom_called_firmly_off_it() -> None:
    """Monte Carlo: true walls a line limit into the tail; beyond 2 u lies one side of a normal law, 2.3 %.

    A share of 2000 draws of 2 walls is known to 0.24 %; three times that.
    """
    rng, u_mm, boards = np.random.default_rng(7), 0.05, 2000
    places = np.cumsum(WIDTHS_MM) + np.array([LINE_LIMIT_MM, 0.0, LINE_LIMIT_MM, 0.0, 0.0])
    widths = np.diff(places, prepend=0.0).tolist()
    lines = [line for _ in range(boards) for line in check_plan(shaken(widths, u_mm, rng), PLAN).lines[0::2]]
    assert sum(line.course == "in the tail" for line in lines) / len(lines) == pytest.approx(0.0228, abs=0.0072)
