"""Plans: closed forms, stepping off from both sides, published facts of the trade, and what cannot be cut."""

from __future__ import annotations

import json
import math
from itertools import product

import numpy as np
import pytest

from calibration.kept_format import NewerFormatError
from vision.layout.plan import Plan, far_error_mm
from vision.layout.plan_record import plans_from_dict, plans_to_dict

EXACT_MM = 1e-9
"""Identities in floating point, in mm."""

DRAWER = Plan(90.5, 17.5, 3, 6.4, 1.8, 1.0 / 6.0, 17.5, "drawer")
PLANS = [
    Plan(width, 19.0, tails, half, pin, slope, 15.0)
    for width, tails, half, pin, slope in product((60.0, 141.3), (1, 2, 5), (3.2, 5.0), (1.8, 4.0), (1 / 6, 1 / 8))
]


def ends(plan: Plan) -> list[float]:
    return [line.x_end_mm for line in plan.lines]


def stepped_marks_mm(plan: Plan, start: str, step_mm: float) -> tuple[float, ...]:
    """x of the line of the half pin at `start` and of the `tails` marks that dividers set to `step_mm` leave."""
    origin, sign = (plan.half_pin_mm, 1.0) if start == "left" else (plan.width_mm - plan.half_pin_mm, -1.0)
    return tuple(origin + sign * count * step_mm for count in range(plan.tails + 1))


def stepped_walls_mm(plan: Plan, step_mm: float) -> tuple[float, ...]:
    """x of all walls from left to right as stepping off from both half pins lays them out."""
    lefts = stepped_marks_mm(plan, "left", step_mm)[:-1]
    rights = stepped_marks_mm(plan, "right", step_mm)[-2::-1]
    return tuple(x for pair in zip(lefts, rights, strict=True) for x in pair)


def test_the_step_is_the_width_less_both_half_pins_and_one_pin_more_over_the_tails() -> None:
    assert DRAWER.step_mm == pytest.approx((90.5 - 2 * 6.4 + 1.8) / 3, abs=EXACT_MM)
    assert DRAWER.step_mm == pytest.approx(26.5, abs=EXACT_MM)


@pytest.mark.parametrize("plan", PLANS)
def test_the_parts_fill_the_board_at_the_end_and_at_the_baseline(plan: Plan) -> None:
    assert [part.kind for part in plan.parts] == ["half pin", *["tail", "pin"] * (plan.tails - 1), "tail", "half pin"]
    assert sum(part.end_mm for part in plan.parts) == pytest.approx(plan.width_mm, abs=EXACT_MM)
    assert sum(part.baseline_mm for part in plan.parts) == pytest.approx(plan.width_mm, abs=EXACT_MM)


@pytest.mark.parametrize("plan", PLANS)
def test_every_part_is_as_wide_as_was_asked_for(plan: Plan) -> None:
    inner = [part for part in plan.parts if part.kind == "pin"]
    assert [part.end_mm for part in inner] == pytest.approx([plan.pin_mm] * (plan.tails - 1), abs=EXACT_MM)
    run = 15.0 * plan.slope
    assert [part.baseline_mm - part.end_mm for part in inner] == pytest.approx([2 * run] * len(inner), abs=EXACT_MM)
    halves = [part for part in plan.parts if part.kind == "half pin"]
    assert [part.end_mm for part in halves] == pytest.approx([plan.half_pin_mm] * 2, abs=EXACT_MM)
    assert [part.baseline_mm for part in halves] == pytest.approx([plan.half_pin_mm + run] * 2, abs=EXACT_MM)


@pytest.mark.parametrize("plan", PLANS)
def test_stepping_off_from_both_half_pins_lays_out_every_line(plan: Plan) -> None:
    assert stepped_walls_mm(plan, plan.step_mm) == pytest.approx(ends(plan), abs=EXACT_MM)


@pytest.mark.parametrize("plan", PLANS)
def test_the_last_step_from_either_side_lands_one_pin_past_the_far_half_pin(plan: Plan) -> None:
    from_left, from_right = (stepped_marks_mm(plan, side, plan.step_mm)[-1] for side in ("left", "right"))
    assert from_left == pytest.approx(plan.width_mm - plan.half_pin_mm + plan.pin_mm, abs=EXACT_MM)
    assert from_right == pytest.approx(plan.half_pin_mm - plan.pin_mm, abs=EXACT_MM)


@pytest.mark.parametrize("plan", PLANS)
def test_an_error_of_the_step_counts_once_for_each_tail_at_the_far_end_and_in_every_pin(plan: Plan) -> None:
    """Stepping off with dividers set 0.1 mm wide; the tails stay even, each (tails - 1) steps slimmer."""
    error = 0.1
    walls = np.array(stepped_walls_mm(plan, plan.step_mm + error)) - ends(plan)
    far = stepped_marks_mm(plan, "left", plan.step_mm + error)[-1] - stepped_marks_mm(plan, "left", plan.step_mm)[-1]
    assert far == pytest.approx(far_error_mm(plan.tails, error), abs=EXACT_MM)
    assert far == pytest.approx(plan.tails * error, abs=EXACT_MM)
    assert walls[2::2] - walls[1:-1:2] == pytest.approx(np.full(plan.tails - 1, far), abs=EXACT_MM)
    assert walls[1::2] - walls[0::2] == pytest.approx(np.full(plan.tails, -(plan.tails - 1) * error), abs=EXACT_MM)


@pytest.mark.parametrize("tails", [2, 3, 7])
def test_divider_errors_drawn_at_random_scatter_as_far_as_is_stated(tails: int) -> None:
    """Monte Carlo: one setting error for all steps of a board, and a prick's own error for each single step."""
    rng, boards, setting, pricking = np.random.default_rng(4), 20000, 0.05, 0.08
    of_setting = setting * rng.standard_normal((boards, 1))
    left, right = (np.cumsum(of_setting + pricking * rng.standard_normal((boards, tails)), axis=1) for _ in range(2))
    pin = left[:, 0] + right[:, tails - 2]  # between tails 1 and 2: one step from the left, the others from the right
    # A standard deviation of n draws is known to 1 / sqrt(2 n) = 0.5 %; four times that for all cases together.
    for seen in (left[:, -1], pin):
        assert np.std(seen) == pytest.approx(far_error_mm(tails, setting, pricking), rel=0.02)


@pytest.mark.parametrize(("one_in", "angle_deg"), [(6, 9.5), (7, 8.1), (8, 7.1), (5, 11.3)])
def test_slopes_have_the_angles_that_the_trade_gives_them(one_in: int, angle_deg: float) -> None:
    """1:6 as 9.5 degrees is in any trade text on the joint; the others from memory; one decimal."""
    assert Plan(90.0, 19.0, 2, 6.0, 3.0, 1 / one_in, 19.0).slope_deg == pytest.approx(angle_deg, abs=0.05)


def test_half_pins_of_half_a_pin_give_the_published_spacing() -> None:
    """The spacing commonly published: tail = W / (N (1 + r)), pin = r tail, half pins of half a pin.

    For 4 inches, 4 tails, r = 0.45 one tail and one pin are a quarter of the width.
    """
    tail = 4 * 25.4 / (4 * 1.45)
    plan = Plan(4 * 25.4, 0.75 * 25.4, 4, 0.45 * tail / 2, 0.45 * tail, 1 / 8, 0.75 * 25.4)
    assert plan.tail_mm == pytest.approx(tail, abs=EXACT_MM)
    assert plan.step_mm == pytest.approx(25.4, abs=EXACT_MM)
    assert plan.run_mm == pytest.approx(0.75 * 25.4 * math.tan(math.radians(plan.slope_deg)), abs=EXACT_MM)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"tails": 0}, "from 1 to 60 tails, not 0"),
        ({"tails": 61}, "from 1 to 60 tails, not 61"),
        ({"width_mm": -1.0}, "the width must be a length above zero, not -1 mm"),
        ({"half_pin_mm": math.inf}, "the half pin must be a length above zero"),
        ({"slope": 1.2}, "between flat and 1:1, such as 1:6 or 1:8, not 1.2"),
        ({"half_pin_mm": 44.0}, "take 91.6 mm of a board 90.5 mm wide and leave nothing for tails"),
        ({"tails": 12}, "lose 5.8 mm by their slope and have no root left at the baseline; cut fewer tails"),
    ],
)
def test_a_layout_that_cannot_be_cut_is_refused_in_a_sentence(change: dict[str, float], message: str) -> None:
    sizes = {key: getattr(DRAWER, key) for key in DRAWER.__dataclass_fields__}
    with pytest.raises(ValueError, match=message):
        Plan(**(sizes | change))


def test_kept_plans_come_back_as_they_were() -> None:
    data = json.loads(json.dumps(plans_to_dict({"drawer": DRAWER})))
    assert plans_from_dict(data) == {"drawer": DRAWER}


def test_plans_of_the_first_format_stay_readable() -> None:
    sizes = {"width_mm": 90.5, "thickness_mm": 17.5, "tails": 3, "half_pin_mm": 6.4, "pin_mm": 1.8}
    kept = {"format": 1, "plans": {"drawer": sizes | {"slope": 1.0 / 6.0, "depth_mm": 17.5}}}
    assert plans_from_dict(kept) == {"drawer": DRAWER}


@pytest.mark.parametrize(
    "data", [[], {"format": "1"}, {"format": 1}, {"format": 1, "plans": {"a": {"width_mm": 3}}}, {"plans": {}}]
)
def test_what_are_no_plans_is_said_to_be_none(data: object) -> None:
    with pytest.raises(ValueError, match=r"these are not kept plans|the plan 'a' is damaged"):
        plans_from_dict(data)


def test_plans_of_a_later_format_are_left_alone() -> None:
    with pytest.raises(NewerFormatError, match="written in format 2"):
        plans_from_dict({"format": 2, "plans": {}})
