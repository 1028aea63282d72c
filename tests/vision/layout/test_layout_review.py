"""Remarks on a layout: each rule provoked, silent within its limit, and silent where U is too large to say."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from calibration.quantity import Quantity, Source
from tests.vision.layouts import end_of, shaken
from vision.end.report import Measurement
from vision.joint.strength import strength_of
from vision.layout.review import Review, review_layout
from vision.layout.rules import DEFAULT_RULES, rules_from_dict
from vision.layout.shape import shape_of

GOOD = [7.0, 24.0, 4.0, 24.0, 4.0, 24.0, 7.0]
"""A layout that no rule has a word against."""


def review(measured: Measurement, depth_mm: float = 17.0, slope: float = 1 / 7, wood: str = "sugar maple") -> Review:
    shape = shape_of(measured, depth_mm=depth_mm, planned_slope=slope)
    return review_layout(shape, strength_of(wood), DEFAULT_RULES)


def made(measured: Measurement, **how: float) -> list[str]:
    return [remark.rule for remark in review(measured, **how).remarks]  # type: ignore[arg-type]


def changed(at: int, by_mm: float) -> list[float]:
    return [width + (by_mm if place == at else 0.0) for place, width in enumerate(GOOD)]


def test_a_good_layout_is_left_alone() -> None:
    assert made(end_of(GOOD, 0.02)) == []


PROVOKED = [
    ("symmetry", changed(0, 1.5), {}, "The two halves are 1.50 ± 0.07 mm off being mirror images."),
    ("even_tails", changed(3, 1.5), {}, "The tails differ in width by 1.50 ± 0.08 mm."),
    ("even_pins", changed(2, 0.7), {}, "The pins differ in width by 0.70 ± 0.08 mm."),
    ("half_pins", changed(6, -4.0), {}, "The right half pin is 3.00 ± 0.06 mm wide, 1.00 ± 0.08 mm less than that."),
    ("slim_pins", [9.0, 24.0, 6.0, 24.0, 6.0, 24.0, 9.0], {}, "is 6.00 ± 0.06 mm wide, and 1 more are wider than that"),
    ("pin_and_kerf", changed(2, -3.7), {}, "The pin between tails 1 and 2 is 0.30 ± 0.06 mm wide, the kerf 0.60 mm."),
    ("slope_steep", GOOD, {"slope": 1 / 4}, "The slope is 1:4.0 as planned."),
    ("slope_usual", GOOD, {"slope": 1 / 5.5}, "The slope is 1:5.5 as planned."),
    ("slope_flat", GOOD, {"slope": 1 / 10}, "The slope is 1:10.0 as planned."),
    ("section", [12.0, 16.0, 12.0, 16.0, 12.0, 16.0, 12.0], {}, "of the width is left."),
    ("weak_link", [5.0, 9.0, 4.0, 9.0, 4.0, 9.0, 5.0], {"depth_mm": 28.0}, "The tails' roots bear an estimated"),
]


@pytest.mark.parametrize(("rule", "widths", "how", "found"), PROVOKED, ids=[case[0] for case in PROVOKED])
def test_every_rule_has_a_layout_that_provokes_it(rule: str, widths: list[float], how: dict, found: str) -> None:
    remarks = {remark.rule: remark for remark in review(end_of(widths, 0.02), **how).remarks}
    assert found in remarks[rule].found
    assert "{" not in remarks[rule].words


@pytest.mark.parametrize(("rule", "widths", "how", "found"), PROVOKED[:6], ids=[case[0] for case in PROVOKED[:6]])
def test_no_remark_is_made_where_the_measurement_does_not_carry_it(
    rule: str, widths: list[float], how: dict, found: str
) -> None:
    assert rule not in made(end_of(widths, 2.0), **how)


def test_every_rule_is_provoked_above() -> None:
    assert {case[0] for case in PROVOKED} == {rule.id for rule in DEFAULT_RULES}


def test_a_steep_slope_is_not_remarked_on_twice() -> None:
    assert made(end_of(GOOD), slope=1 / 4, depth_mm=10.0) == ["slope_steep"]


def test_slopes_of_a_face_are_judged_wall_by_wall_beyond_their_uncertainty() -> None:
    """1:4 known to 0.01, 1:4 known to 0.1, the others 1:7."""
    parts = [(0.25, 0.01), (0.25, 0.1), *[(1 / 7, 0.005)] * 4]
    slopes = [Quantity(slope, {Source("face", str(wall)): u}, "") for wall, (slope, u) in enumerate(parts)]
    shape = shape_of(end_of(GOOD), depth_mm=17.0, slopes=slopes)
    remarks = review_layout(shape, strength_of("sugar maple"), DEFAULT_RULES).remarks
    assert [remark.found for remark in remarks] == ["The slope is 1:4.0 at the left of tail 1."]


def test_a_remark_on_slopes_tells_the_one_farthest_beyond_the_limit() -> None:
    for slopes, rule, worst in (([0.25, 0.3, 0.25], "slope_steep", 0.3), ([0.1, 0.08, 0.1], "slope_flat", 0.08)):
        told = [Quantity(slope, {Source("face", str(wall)): 0.001}, "") for wall, slope in enumerate(slopes)]
        shape = shape_of(end_of(GOOD), depth_mm=10.0, slopes=told)
        remarks = {each.rule: each for each in review_layout(shape, strength_of("sugar maple"), DEFAULT_RULES).remarks}
        assert remarks[rule].value.value == worst


def test_a_slope_that_was_only_taken_is_not_judged() -> None:
    shape = shape_of(end_of(GOOD))
    rules = rules_from_dict({"format": 1, "rules": [{"id": "slope_flat", "limits": {"flattest_n": 1.0}}]})
    assert review_layout(shape, strength_of("sugar maple"), rules).remarks == ()


def test_pins_without_a_kerf_are_not_held_against_one() -> None:
    assert "pin_and_kerf" not in made(end_of(changed(2, -3.7), 0.02, kerf_mm=None))


def test_one_tail_has_no_inner_pins_to_judge() -> None:
    assert made(end_of([2.0, 60.0, 2.0])) == []


def test_a_rule_that_is_off_is_silent_and_said_to_be_off() -> None:
    rules = rules_from_dict({"format": 1, "rules": [{"id": "half_pins", "on": False}]})
    shape = shape_of(end_of(changed(6, -4.0), 0.02), depth_mm=17.0, planned_slope=1 / 7)
    reviewed = review_layout(shape, strength_of("sugar maple"), rules)
    assert "half_pins" not in [remark.rule for remark in reviewed.remarks]
    assert reviewed.to_dict()["rules_off"] == ["half_pins"]


def test_limits_are_shown_in_the_units_asked_for() -> None:
    shape = shape_of(end_of([9.0, 24.0, 6.0, 24.0, 9.0], 0.02), depth_mm=17.0, planned_slope=1 / 7)
    words = {
        units: review_layout(shape, strength_of("sugar maple"), DEFAULT_RULES, units).remarks[0].words  # type: ignore[arg-type]
        for units in ("mm", "inch")
    }
    assert "slimmer than about 4.8 mm" in words["mm"]
    assert "slimmer than about 3/16 in" in words["inch"]


def rate(widths: Sequence[float], rule: str, boards: int = 2000, u_mm: float = 0.1) -> float:
    rng = np.random.default_rng(5)
    return sum(rule in made(shaken(widths, u_mm, rng)) for _ in range(boards)) / boards


def test_a_pin_just_at_the_limit_is_seldom_remarked_on() -> None:
    """Monte Carlo: beyond 2 u lies one side of a normal law, 2.3 %; a share of 2000 is known to 0.33 %, three times."""
    widths = [9.0, 24.0, 3.0 / 16.0 * 25.4, 24.0, 9.0]
    assert rate(widths, "slim_pins") == pytest.approx(0.0228, abs=0.010)


def test_an_even_layout_is_hardly_ever_called_uneven() -> None:
    """Three equal tails with an uncertainty of 0.1 mm a wall: their spread must pass 0.8 mm by more than U."""
    assert rate(GOOD, "even_tails", boards=500) == 0.0
