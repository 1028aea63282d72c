"""What a layout leaves of the board, and its glue: closed forms, the plan as an independent reckoning, Monte Carlo."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from calibration.quantity import Quantity, Source
from tests.vision.layouts import end_of, shaken
from vision.joint.strength import strength_of
from vision.layout.plan import Plan
from vision.layout.shape import USUAL_SLOPES, bending_nm, product, ratio, root_over_glue, shape_of, trade_off

PLAN = Plan(90.0, 19.0, 3, 7.0, 5.0, 1.0 / 6.0, 17.0)
WIDTHS_MM = [part.end_mm for part in PLAN.parts]
EXACT = 1e-9


def planned(tails: int = 3, u_mm: float = 0.0):
    widths = [part.end_mm for part in replace(PLAN, tails=tails).parts]
    return shape_of(end_of(widths, u_mm), depth_mm=17.0, planned_slope=1.0 / 6.0)


def test_tails_pins_and_half_pins_are_told_apart() -> None:
    shape = planned()
    assert [tail.value for tail in shape.tails] == pytest.approx([PLAN.tail_mm] * 3, abs=EXACT)
    assert [pin.value for pin in shape.pins] == pytest.approx([5.0, 5.0], abs=EXACT)
    assert [half.value for half in shape.half_pins] == pytest.approx([7.0, 7.0], abs=EXACT)
    assert shape.kerf_mm == pytest.approx(0.6)


def test_widths_are_those_in_the_middle_of_the_thickness() -> None:
    shape = shape_of(end_of([7.0, 30.0, 7.0], out_mm=[0.2, -0.4]))
    assert shape.tails[0].value == pytest.approx(30.0 - 0.3)
    assert shape.half_pins[1].value == pytest.approx(7.0 + 0.2)


def test_the_share_left_at_the_baseline_is_that_of_the_plan() -> None:
    roots = sum(part.baseline_mm for part in PLAN.parts if part.kind == "tail")
    assert planned().share.value == pytest.approx(roots / 90.0, abs=EXACT)


def test_glue_is_on_both_sloping_sides_of_every_tail() -> None:
    assert planned().glue_mm2.value == pytest.approx(6 * 19.0 * math.hypot(17.0, 17.0 / 6.0), rel=EXACT)


def test_bending_strength_is_that_of_the_section_left() -> None:
    """M = f b t^2 / 6: black cherry's 12300 psi on 90 mm by 19 mm would bear 459 N m whole."""
    whole = 12300 * 6.894757e-3 * 90.0 * 19.0**2 / 6.0 / 1000.0
    assert whole == pytest.approx(459.2, abs=0.1)
    shape = planned()
    assert bending_nm(shape, strength_of("black cherry")) == pytest.approx(whole * shape.share.value, rel=EXACT)


def test_roots_over_glue_is_tension_over_shear() -> None:
    """Sum of the roots times t times f, over 2 n t d sqrt(1 + s^2) times tau; t cancels."""
    wood, roots = strength_of("sugar maple"), 3 * (PLAN.tail_mm - 2 * 17.0 / 6.0)
    expected = roots * 15800 / (6 * math.hypot(17.0, 17.0 / 6.0) * 2330)
    over = root_over_glue(planned(), wood)
    assert over.value == pytest.approx(expected, rel=EXACT)
    # Nothing else is uncertain here: the wood's scatter, 16 and 14 % (Wood Handbook, Table 5-6, from memory).
    assert over.u / over.value == pytest.approx(math.hypot(0.16, 0.14), rel=EXACT)


@pytest.mark.parametrize("tails", [2, 4, 5])
def test_the_trade_off_foresees_what_such_a_board_would_have(tails: int) -> None:
    foreseen = {option.tails: option for option in trade_off(planned())}[tails]
    assert foreseen.share == pytest.approx(planned(tails).share.value, abs=EXACT)
    assert foreseen.glue_mm2 == pytest.approx(planned(tails).glue_mm2.value, rel=EXACT)


def test_more_tails_bring_glue_and_cost_section_until_nothing_is_left() -> None:
    options = trade_off(planned(), more=30)
    shares, glue = [option.share for option in options], [option.glue_mm2 for option in options]
    assert shares == sorted(shares, reverse=True)
    assert glue == sorted(glue)
    assert options[0].tails == 2
    assert 3 < options[-1].tails < 33
    assert shares[-1] > 0.0


def test_a_slope_that_was_not_seen_lies_between_the_usual_ones() -> None:
    """Rectangular from 1:8 to 1:6 (JCGM 100:2008, 4.3.7): half the range over the root of three."""
    shape = shape_of(end_of(WIDTHS_MM), depth_mm=17.0)
    assert shape.slope_source == "taken"
    assert shape.slope.value == pytest.approx(sum(USUAL_SLOPES) / 2)
    assert shape.slope.u == pytest.approx((1 / 6 - 1 / 8) / 2 / math.sqrt(3))
    assert shape.share.u == pytest.approx(6 * 17.0 * shape.slope.u / 90.0, rel=EXACT)
    steep, flat = (shape_of(end_of(WIDTHS_MM), depth_mm=17.0, planned_slope=slope).share for slope in (1 / 6, 1 / 8))
    assert shape.share.value - shape.share.u95 < steep.value < flat.value < shape.share.value + shape.share.u95


def test_slopes_measured_on_a_face_go_before_the_plans() -> None:
    slopes = [Quantity(0.15 + 0.01 * wall, {Source("face", str(wall)): 0.01}, "") for wall in range(6)]
    shape = shape_of(end_of(WIDTHS_MM), slopes=slopes, planned_slope=1 / 6)
    assert shape.slope_source == "face"
    assert shape.slope.value == pytest.approx(0.175)
    assert shape.slope.u == pytest.approx(0.01 / math.sqrt(6))


def test_a_depth_that_was_not_told_is_the_thickness() -> None:
    shape = shape_of(end_of(WIDTHS_MM))
    assert (shape.depth_mm, shape.depth_told) == (19.0, False)


def test_a_ratio_keeps_what_its_terms_share() -> None:
    """A common relative error cancels; independent ones add by their squares."""
    common = Source("scale")
    one, two = Quantity(40.0, {common: 0.4}), Quantity(80.0, {common: 0.8})
    assert ratio(one, two).u == pytest.approx(0.0, abs=EXACT)
    apart = ratio(Quantity(40.0, {Source("a"): 0.4}), Quantity(80.0, {Source("b"): 0.8}))
    assert apart.u == pytest.approx(0.5 * math.hypot(0.01, 0.01), rel=EXACT)


def test_a_product_keeps_what_its_factors_share() -> None:
    """A relative error common to both counts twice, opposite ones cancel; independent ones add by their squares."""
    common = Source("scale")
    one = Quantity(40.0, {common: 0.4})
    assert product(one, Quantity(5.0, {common: 0.05}), "mm2").u == pytest.approx(200.0 * 0.02, rel=EXACT)
    assert product(one, Quantity(5.0, {common: -0.05}), "mm2").u == pytest.approx(0.0, abs=EXACT)
    apart = product(one, Quantity(5.0, {Source("depth"): 0.1}), "mm2")
    assert (apart.value, apart.unit) == (200.0, "mm2")
    assert apart.u == pytest.approx(200.0 * math.hypot(0.01, 0.02), rel=EXACT)


def test_a_depth_that_a_face_shows_brings_its_uncertainty_along() -> None:
    depth = Quantity(17.0, {Source("baseline"): 0.2})
    seen, told = (shape_of(end_of(WIDTHS_MM), depth_mm=each, planned_slope=1 / 6) for each in (depth, 17.0))
    assert (seen.share.value, seen.glue_mm2.value) == (told.share.value, told.glue_mm2.value)
    assert seen.share.u == pytest.approx(6 * 0.2 / 6 / 90.0, rel=EXACT)
    assert seen.glue_mm2.u == pytest.approx(seen.glue_mm2.value * 0.2 / 17.0, rel=EXACT)


def test_the_share_scatters_as_its_uncertainty_says() -> None:
    """Monte Carlo over measured boards; a standard deviation of 2000 draws is known to 1.6 %, three times that."""
    rng, u_mm = np.random.default_rng(11), 0.3
    stated = planned(u_mm=u_mm).share.u
    seen = [shape_of(shaken(WIDTHS_MM, u_mm, rng), depth_mm=17.0, planned_slope=1 / 6).share.value for _ in range(2000)]
    assert np.std(seen) == pytest.approx(stated, rel=0.05)
