"""Budgets of numbers: their lines, their forecasts, and an independent program that adds up the same inputs.

The oracle is the GUM Tree Calculator (GTC on PyPI), which differentiates the same expressions by itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import GTC
import pytest

from calibration.outcome import WARNINGS
from calibration.quantity import Quantity, Source
from tests.scenes import Scene
from tests.vision.ends import measured
from tests.vision.photos import report
from vision.answer.budget import (
    NOTHING_TAKEN,
    Budget,
    Taken,
    budget_of,
    deciding_socket,
    find_budgets,
    forecasts,
    print_check_leaves,
)
from vision.end.report import Measurement
from vision.joint.seating import predict_seating
from vision.together.sharing import ACROSS, ALONG, FIT_OF_END, SKEW, TILT_OF_CARD

IDENTITY = 1e-12
"""The same sum of the same numbers: nothing but rounding."""

EDGE = Source("wall edge direction", "tail 0 left")
MADE = Quantity(0.2, {EDGE: 0.03, SKEW: -0.02, ALONG: 0.01, ACROSS: 0.04, Source("print scale", "x"): 0.001})


def scene() -> Measurement:
    return measured(Scene())


def as_gtc(quantities: Mapping[str, Quantity]) -> tuple[dict[str, GTC.lib.UncertainReal], dict[Source, object]]:
    """The quantities as uncertain numbers over one common set of standard inputs, one per source."""
    sources = sorted({source for quantity in quantities.values() for source in quantity.parts})
    inputs = {source: GTC.ureal(0.0, 1.0, label=str(source)) for source in sources}
    found = {
        name: quantity.value + sum(part * inputs[source] for source, part in quantity.parts.items())
        for name, quantity in quantities.items()
    }
    return found, inputs


def by_cause(number: object, inputs: Mapping[Source, object]) -> dict[str, float]:
    """GTC's own components of uncertainty, added in squares cause by cause."""
    squares: dict[str, float] = {}
    for source, one in inputs.items():
        squares[source.cause] = squares.get(source.cause, 0.0) + GTC.component(number, one) ** 2
    return {cause: math.sqrt(square) for cause, square in squares.items()}


def acts(quantity: Quantity, taken: Taken = NOTHING_TAKEN) -> dict[str, float]:
    return {each.act: each.u95 for each in forecasts(quantity, taken)}


def test_taper_and_its_budget_agree_with_the_gum_tree_calculator() -> None:
    left, right = scene().walls[1], scene().walls[2]
    given = {"ls": left.x_show, "lt": left.x_transfer, "rs": right.x_show, "rt": right.x_transfer}
    numbers, inputs = as_gtc(given)
    oracle = (numbers["rs"] - numbers["ls"]) - (numbers["rt"] - numbers["lt"])
    taper = (right.x_show - left.x_show) - (right.x_transfer - left.x_transfer)
    assert taper.u == pytest.approx(GTC.uncertainty(oracle), rel=IDENTITY)
    for line in budget_of("socket 2", "taper", taper).lines:
        assert line.u95 == pytest.approx(2.0 * by_cause(oracle, inputs)[line.cause], rel=1e-9, abs=IDENTITY)


def test_every_lean_agrees_with_the_gum_tree_calculators_arctangent() -> None:
    measurement = scene()
    for wall in measurement.walls:
        given = {"show": wall.x_show, "transfer": wall.x_transfer, "t": measurement.thickness}
        numbers, _ = as_gtc(given)
        oracle = GTC.atan((numbers["transfer"] - numbers["show"]) / numbers["t"]) * (180.0 / math.pi)
        assert wall.lean.value == pytest.approx(oracle.x, abs=IDENTITY)
        # The lean takes the thickness as exact: it would add its relative u, 0.01 in 18 mm, of a lean of half a degree.
        assert wall.lean.u == pytest.approx(GTC.uncertainty(oracle), abs=0.5 * measurement.thickness.u / 17.0)


def test_a_second_photos_mean_agrees_with_the_gum_tree_calculator() -> None:
    """The same two photos written out: what is shared is one input, what is not is two."""
    own, common = (MADE.parts[EDGE] * math.sqrt(share) for share in (1.0 - FIT_OF_END, FIT_OF_END))
    one, two, wood, skew, scale = (GTC.ureal(0.0, 1.0) for _ in range(5))
    fixed = math.sqrt(TILT_OF_CARD)
    along, across = (MADE.parts[source] for source in (ALONG, ACROSS))
    card_x, card_y, first_x, first_y, second_x, second_y = (GTC.ureal(0.0, 1.0) for _ in range(6))
    shared = common * wood + MADE.parts[SKEW] * skew + 0.001 * scale
    rest = math.sqrt(1.0 - TILT_OF_CARD)
    first = (
        shared + own * one + fixed * (along * card_x + across * card_y) + rest * (along * first_x + across * first_y)
    )
    second = shared + own * two - fixed * (along * card_x + across * card_y)
    second += rest * (along * second_x + across * second_y)
    expected = 2.0 * GTC.uncertainty((first + second) / 2.0)
    assert acts(MADE)["card end for end"] == pytest.approx(expected, rel=IDENTITY)


def test_lines_run_from_the_largest_and_their_squares_add_up() -> None:
    for wall in scene().walls:
        budget = budget_of("wall", "lean", wall.lean)
        parts = [line.u95 for line in budget.lines]
        assert parts == sorted(parts, reverse=True)
        assert math.hypot(*parts) == pytest.approx(wall.lean.u95, rel=IDENTITY)
        assert sum(line.share for line in budget.lines) == pytest.approx(1.0, rel=IDENTITY)


def test_a_card_turned_end_for_end_cancels_the_tilt_that_is_its_own() -> None:
    tilt = Quantity(0.1, {ACROSS: 0.02})
    # What is new with each set-up falls by the root of two, what turns with the card vanishes.
    assert acts(tilt)["card end for end"] == pytest.approx(2.0 * 0.02 * math.sqrt((1.0 - TILT_OF_CARD) / 2.0))
    assert acts(tilt)["card set up anew"] == pytest.approx(2.0 * 0.02 * math.sqrt((1.0 + TILT_OF_CARD) / 2.0))


def test_only_a_quarter_turn_cancels_the_prints_skew() -> None:
    skew = Quantity(0.1, {SKEW: 0.02})
    assert acts(skew, Taken(print_check=True)) == {"card a quarter": pytest.approx(0.0, abs=IDENTITY)}


def test_the_print_check_leaves_what_a_caliper_leaves() -> None:
    skew = Quantity(0.1, {SKEW: 0.02})
    assert acts(skew)["print check"] == pytest.approx(2.0 * 0.02 * print_check_leaves()["print skew"])
    # A caliper set on lines to 0.1 mm knows 100 mm to about 0.1 %, the allowance is 0.3 %.
    assert 0.1 < print_check_leaves()["print scale"] < 0.6


def test_nothing_is_offered_that_was_done_or_that_would_not_help() -> None:
    lens = Quantity(0.1, {Source("lens", "k1"): 0.02})
    assert "camera profile" in acts(lens)
    assert "camera profile" not in acts(lens, Taken(camera_profile=True))
    assert "closer" not in acts(lens)
    assert not any("photo" in act or "card" in act for act in acts(MADE, Taken(photos=2)))
    assert acts(Quantity(0.1)) == {}


def test_a_photo_that_was_cut_is_offered_no_camera_profile() -> None:
    whole = scene()
    assert not Taken.of(whole, 1).camera_profile
    assert Taken.of(replace(whole, warnings=(WARNINGS["photo_cut"],)), 1).camera_profile


@pytest.mark.parametrize(
    ("long_px", "times"),
    [(1600, None), (1680, 1.3), (2000, 1.5), (0, 1.5)],
    ids=["full", "little room", "room", "untold"],
)
def test_a_closer_photo_is_only_offered_as_far_as_card_and_end_fit_into_it(long_px: int, times: float | None) -> None:
    # The short card's 127 mm with its margins take 1270 px.
    one = replace(scene(), size_px=(long_px * 3 // 4, long_px), px_per_mm=10.0 if long_px != 1600 else 11.5)
    told = [each.times for each in forecasts(Quantity(0.1, {EDGE: 0.02}), Taken.of(one, 1)) if each.act == "closer"]
    assert told == ([] if times is None else [times])


def test_more_trouble_is_offered_only_where_it_brings_more() -> None:
    only_fit = Quantity(0.1, {EDGE: 0.02})
    assert {"second photo"} == {act for act in acts(only_fit) if act != "closer"}


def test_walls_sockets_and_sizes_are_found_by_the_names_people_use() -> None:
    one = report()
    found = {
        what: find_budgets(one.measurement, one.prediction, what) for what in ("Tail 2  right", "socket 3", "width")
    }
    assert [budget.number for budget in found["Tail 2  right"]] == ["lean", "off square"]
    assert found["Tail 2  right"][1].quantity is one.measurement.walls[3].out_of_square
    assert found["socket 3"][0].quantity.value == one.prediction.sockets[2].taper.value
    assert found["width"][0].quantity is one.measurement.width


def test_a_name_that_is_not_there_is_told_with_those_that_are() -> None:
    one = report()
    with pytest.raises(ValueError, match=r"no 'tail 4 left' in this result: name one of tail 1 left, .*, thickness"):
        find_budgets(one.measurement, one.prediction, "tail 4 left")


def test_unasked_the_budget_is_of_the_socket_that_decides() -> None:
    one = report()
    # Walls of 0.6 mm between them: socket 2 is too tight by far, socket 3 too loose by far; the half pins seat.
    assert deciding_socket(one.prediction).index in (1, 2)
    budgets = find_budgets(one.measurement, one.prediction)
    assert [budget.number for budget in budgets] == ["taper", "lean", "lean"]


def test_the_budget_of_a_half_pin_that_decides_comes_with_that_of_its_one_wall() -> None:
    for squeezed, wall in ((0, "tail 1 left"), (3, "tail 2 right")):
        one = report(tuple(0.3 if index == squeezed else 0.0 for index in range(4)), u_mm=0.001)
        half_pin = deciding_socket(one.prediction)
        assert half_pin.kind == "half"
        whats = [budget.what for budget in find_budgets(one.measurement, one.prediction)]
        assert whats == [f"socket {half_pin.index + 1}", wall]


def test_of_a_board_that_passes_the_socket_nearest_its_limit_is_told() -> None:
    one = report((0.0, 0.01, 0.03, 0.0), u_mm=0.001)
    prediction = predict_seating(
        one.measurement.walls, one.measurement.width, one.measurement.thickness, species="maple"
    )
    assert prediction.advice == "transfer"
    assert deciding_socket(prediction).index == 1


def test_a_budget_is_written_out_in_millimetres_and_degrees() -> None:
    made: Budget = budget_of("tail 1 left", "off square", MADE)
    data = made.to_dict()
    assert data["unit"] == "mm"
    # Both tilts: 2 sqrt(0.01^2 + 0.04^2); of 17 + 9 + 4 + 0.01 ten-thousandths in all, 17.
    assert data["contributions"][0] == {"cause": "card tilt", "u95": 0.08246, "share": 0.5665}
    told = [each["u95"] for each in data["forecasts"]]
    assert told == sorted(told) != []
