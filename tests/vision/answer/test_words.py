"""Sentences and numbers as people read them."""

from dataclasses import replace

import pytest

from calibration.quantity import Quantity, Source
from tests.vision.boards import THICKNESS_MM, board, wall
from vision.answer.words import (
    CAUTIONS,
    ON_A_PAGE,
    board_sentence,
    format_error,
    format_plus_minus,
    format_size,
    format_size_u,
    off_square_sentences,
    print_sentence,
    socket_name,
    socket_sentence,
    wall_sentence,
)
from vision.end.report import PrintCost
from vision.joint.decision import Estimate
from vision.joint.seating import Limits, predict_seating


def predict(into_mm, u_mm=0.003, **limits):
    walls, width = board(into_mm, u_mm)
    return predict_seating(walls, width, Quantity(THICKNESS_MM), limits=Limits(**limits))


def measured(value: float, u: float, unit: str = "mm") -> Quantity:
    return Quantity(value, {Source("edge"): u}, unit)


def test_errors_are_hundredths_of_a_millimetre_or_thousandths_of_an_inch():
    assert format_error(0.2134) == "0.21 mm"
    assert format_error(0.2134, "inch") == "0.008 in"
    assert format_error(-0.001) == "0.00 mm"


@pytest.mark.parametrize(
    ("size_mm", "text"),
    [
        (25.4, "1 in"),
        (25.4 * 3.3125, "3 5/16 in"),
        (19.05, "3/4 in"),
        (0.3, "0 in"),
        (0.794, "1/32 in"),
        (25.39, "1 in"),
        (-38.1, "-1 1/2 in"),
    ],
)
def test_sizes_in_inches_are_fractions_to_a_thirty_second(size_mm, text):
    assert format_size(size_mm, "inch") == text


def test_sizes_in_millimetres_are_tenths():
    assert format_size(83.79) == "83.8 mm"


def test_other_units_are_refused():
    with pytest.raises(ValueError, match="units must be one of mm, inch"):
        format_size(10.0, "cm")


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (measured(0.13649, 0.0105), "0.14 ± 0.02 mm"),
        (measured(0.13649, 0.006), "0.136 ± 0.012 mm"),
        (measured(83.794, 0.03), "83.79 ± 0.06 mm"),
        (measured(0.4123, 0.02, "deg"), "0.41 ± 0.04 deg"),
        (measured(127.4, 3.0), "127 ± 6 mm"),
    ],
)
def test_a_number_shows_no_more_digits_than_its_uncertainty_allows(quantity, text):
    assert format_plus_minus(quantity) == text


def test_inches_keep_the_digits_that_the_uncertainty_allows():
    assert format_plus_minus(measured(25.4, 0.0254), "inch") == "1.000 ± 0.002 in"
    assert format_plus_minus(measured(0.41, 0.02, "deg"), "inch") == "0.41 ± 0.04 deg"


def test_a_number_without_uncertainty_is_not_given_endless_digits():
    assert format_plus_minus(Quantity(1 / 3)) == "0.3333 ± 0.0000 mm"


def test_a_wall_leans_into_the_socket_or_away_from_it_and_tails_count_from_one():
    right_of_second, left_of_first = wall(3, 50.0, 0.21, 0.01), wall(0, 7.0, -0.13, 0.01)
    assert wall_sentence(right_of_second) == (
        "The right wall of tail 2 leans 0.21 mm into the socket at the show face."
    )
    assert wall_sentence(left_of_first, "inch") == (
        "The left wall of tail 1 leans 0.005 in away from the socket at the show face."
    )


def test_a_right_wall_that_moves_to_the_left_going_down_reaches_into_its_socket():
    # Its socket lies on its right; at the show face the wall stands further right than at the transfer face.
    tight = wall(1, 27.0, 0.2, 0.01)
    assert tight.x_show.value > tight.x_transfer.value
    assert "into the socket" in wall_sentence(tight)


def test_a_wall_within_its_uncertainty_is_called_square_with_the_bound():
    assert wall_sentence(wall(2, 30.0, 0.02, 0.015)) == (
        "The left wall of tail 2 is square as far as this photo shows, within 0.05 mm."
    )


def test_only_walls_off_square_get_a_sentence_of_their_own():
    walls, _ = board([0.0, 0.2, -0.2, 0.001], 0.01)
    assert [text.split(" leans")[0] for text in off_square_sentences(walls)] == [
        "The right wall of tail 1",
        "The left wall of tail 2",
    ]


def test_pins_are_named_by_their_neighbours():
    assert [socket_name(index, 4) for index in range(4)] == [
        "left half pin",
        "pin between tails 1 and 2",
        "pin between tails 2 and 3",
        "right half pin",
    ]


@pytest.mark.parametrize(
    ("into", "words"),
    [
        ([0.0] * 4, "will seat: gap 0.00 mm, squeeze 0.00 mm"),
        ([0.0, -0.1, -0.1, 0.0], "will be loose: a gap of 0.20 mm"),
        ([0.0, 0.1, 0.1, 0.0], "is too tight: a squeeze of 0.20 mm, where 0.08 mm is allowed, may crush or split"),
        ([0.0, 0.25, -0.25, 0.0], "On its other side a gap of"),
        ([0.0, -0.05, -0.05, 0.0], "too close to call: gap 0.10 mm, squeeze 0.00 mm. The gap may be anything from 0.0"),
    ],
)
def test_each_verdict_has_its_sentence(into, words):
    assert words in socket_sentence(predict(into).sockets[1], 3)


def left_open(gap: tuple[float, float], squeeze: tuple[float, float], units: str = "mm") -> str:
    """What is said of a pin whose gap and squeeze (limits 0.10 and 0.08 mm) are nothing, but may be so much."""
    either = {"gap": Estimate(gap[0], *gap), "squeeze": Estimate(squeeze[0], *squeeze)}
    ways = either | {f"{what}_unsettled": estimate for what, estimate in either.items()}
    pin = replace(predict([0.0] * 4).sockets[1], verdict="too close to call", **ways)
    return socket_sentence(pin, 3, units)


def test_what_is_too_close_to_call_tells_how_far_beyond_the_limit_it_may_be():
    start = "The pin between tails 1 and 2 is too close to call: gap 0.00 mm, squeeze 0.00 mm."
    squeeze = "squeeze may be anything from 0.00 to 0.09 mm, where 0.08 mm is allowed"
    assert left_open((0.0, 0.05), (0.0, 0.09)) == f"{start} The {squeeze}."
    assert "from 0.076 to 0.095 mm, where 0.080 mm is allowed" in left_open((0.0, 0.05), (0.076, 0.095))
    gap = "The gap may be anything from 0.00 to 0.12 mm, where 0.10 mm is allowed"
    assert left_open((0.0, 0.12), (0.0, 0.09)) == f"{start} {gap}, and the {squeeze}."
    assert "from 0.000 to 0.005 in, where 0.004 in is allowed" in left_open((0.0, 0.12), (0.0, 0.05), "inch")


def test_a_limit_that_is_hardly_passed_is_told_in_one_decimal_more():
    assert "from 0.000 to 0.084 mm, where 0.080 mm is allowed" in left_open((0.0, 0.05), (0.0, 0.084))


@pytest.mark.parametrize(
    ("into", "paring", "sentence"),
    [
        ([0.0] * 4, False, "Transfer the pins: all 3 will seat."),
        ([0.0, 0.1, 0.1, 0.0], True, "Pare the tight walls before you transfer: pin between tails 1 and 2 too tight."),
        (
            [0.0, 0.1, 0.1, -0.1, -0.1, 0.0],
            False,
            "Start over: pin between tails 1 and 2 too tight; pin between tails 2 and 3 loose.",
        ),
        ([0.0, -0.05, -0.05, 0.0], False, "Photograph again: pin between tails 1 and 2 is too close to call."),
        (
            [0.0, -0.05, -0.05, -0.05, -0.05, 0.0],
            False,
            "Photograph again: pin between tails 1 and 2, and pin between tails 2 and 3 are too close to call.",
        ),
    ],
)
def test_the_board_has_one_line_with_the_advice_first(into, paring, sentence):
    assert board_sentence(predict(into, paring_allowed=paring)) == sentence


@pytest.mark.parametrize(
    ("cost", "sentence"),
    [
        (PrintCost("", 0.04, 0.64), "that costs up to 4 % of U of a lean and 64 % of U of the width. How to."),
        (PrintCost("", 0.004, 0.18), "Print not checked: that costs 18 % of U of the width. How to."),
        (PrintCost("", 0.004, 0.004), "Print not checked: that costs next to nothing."),
        (PrintCost("laser", 0.0, 0.02), "Print 'laser': what its check leaves open costs 2 % of U of the width."),
        (PrintCost("laser", 0.0, 0.0), "Print 'laser': what its check leaves open costs next to nothing."),
    ],
)
def test_what_the_print_costs_is_told_where_it_is_one_per_cent_or_more(cost, sentence):
    assert print_sentence(cost, "How to.").endswith(sentence)


def test_on_a_page_nobody_is_told_to_type_a_command():
    assert "`" not in ON_A_PAGE


def test_the_cautions_cover_saws_chisels_and_force_and_defer_to_the_instructor():
    said = " ".join(CAUTIONS)
    for word in ("Saws", "chisels", "force", "instructor", "rules of your shop", "maker's instructions"):
        assert word in said


def test_a_boards_size_in_inches_is_a_fraction_and_then_the_exact_value() -> None:
    size = Quantity(83.79, {Source("board side", "left"): 0.03})
    assert format_size_u(size) == "83.79 ± 0.06 mm"
    assert format_size_u(size, "inch") == "3 5/16 in (3.299 ± 0.002 in)"
