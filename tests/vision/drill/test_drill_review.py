"""What a row of cuts says of the sawyer, and above all what it does not say."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.drills import CARD, CARD_U_DEG, OWN_U_DEG, THICKNESS_MM, made_cut, made_cuts
from vision.drill.plan import SQUARE, Intent
from vision.drill.review import JUDGED_AT, WORTH_WORK_MM, Advice, DrillReview, review_drill

LEFT, RIGHT = Intent(-7.0, "left"), Intent(7.0, "right")
DOWN = (Intent(0.0, "left"), Intent(0.0, "right"))
"""Slopes down the face that are square across the end."""
STEADY = 0.08 * np.array([0.5, -1.0, 0.8, -0.3, 0.9, -0.9, 0.4, -0.4])
"""Leans (deg) of a steady hand: they scatter by little and sum to nothing."""
TURNS = np.arange(8) - 3.5


def reviewed(leans: np.ndarray, **told: object) -> DrillReview:
    return review_drill(made_cuts(leans.tolist(), **told), THICKNESS_MM)


@pytest.mark.parametrize(
    ("leans", "advice"),
    [
        (STEADY + 0.6, "bias"),
        (10.0 * STEADY, "spread"),
        (STEADY + 0.2 * TURNS, "drift"),
        (STEADY / 8.0, "nothing"),
    ],
)
def test_what_is_largest_for_certain_is_what_to_work_on(leans: np.ndarray, advice: Advice) -> None:
    assert reviewed(leans).advice == advice


def test_left_against_right_is_told_from_the_mean() -> None:
    meant = np.tile([7.0, -7.0], 4)
    review = reviewed(meant + STEADY + np.tile([0.5, -0.5], 4), intents=(RIGHT, LEFT))
    assert review.advice == "sides"
    assert review.sides is not None
    # The steady hand's own difference of right and left cuts is 1.3 degrees x 0.08.
    assert review.sides.value == pytest.approx(1.0, abs=0.15)
    assert review.bias is not None
    assert abs(review.bias.value) < 0.01


def test_cuts_meant_for_neither_side_leave_the_difference_of_the_sides_alone() -> None:
    leans = np.array([7.5, -7.5, 0.0] * 3)
    sides = reviewed(leans, intents=(RIGHT, LEFT, SQUARE)).sides
    assert sides is not None
    assert sides.value == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("odd", [LEFT, RIGHT])
def test_a_single_cut_of_one_side_tells_nothing_of_the_sides(odd: Intent) -> None:
    other = RIGHT if odd == LEFT else LEFT
    assert reviewed(STEADY, intents=(odd, *[other] * 7)).sides is None


def test_a_drift_counts_by_how_far_it_takes_the_first_and_the_last_cut_from_the_mean() -> None:
    review = reviewed(STEADY + 0.2 * TURNS)
    assert review.drift is not None
    farthest_deg = TURNS[-1] * review.drift.possible(JUDGED_AT)
    assert review.sizes()["drift"].possible_mm == pytest.approx(THICKNESS_MM * np.tan(np.radians(farthest_deg)))


def test_slopes_that_do_not_show_on_the_end_have_sides_too() -> None:
    assert reviewed(STEADY + np.tile([0.6, -0.6], 4), intents=DOWN).advice == "sides"
    assert reviewed(STEADY + np.tile([0.6, -0.6], 4)).sides is None


def test_a_common_bow_is_what_to_work_on() -> None:
    review = reviewed(STEADY / 4.0, bow_mm=0.1)
    assert review.advice == "straightness"
    assert review.bow is not None
    assert review.bow.value == pytest.approx(0.1, abs=0.005)  # 0.01 mm of scatter over eight cuts


def test_a_drift_does_not_count_as_spread() -> None:
    review = reviewed(STEADY + 0.2 * TURNS)
    assert review.spread is not None
    assert review.scatter is not None
    assert review.scatter.sd < 0.3 * review.spread.sd
    assert review.sizes()["spread"].possible_mm < 0.1  # the drift alone scatters by 0.5 degrees: 0.16 mm
    assert review.drift is not None
    assert review.drift.value == pytest.approx(0.2, abs=0.02)


def test_the_cards_error_stands_in_the_mean_and_not_in_drift_or_sides() -> None:
    review = reviewed(STEADY, intents=DOWN)
    assert review.bias is not None
    assert review.drift is not None
    assert review.sides is not None
    assert review.bias.quantity.parts[CARD] == pytest.approx(CARD_U_DEG, rel=1e-9)
    assert [found.quantity.parts[CARD] for found in (review.drift, review.sides)] == pytest.approx([0, 0], abs=1e-12)


def test_one_cut_tells_nothing_and_asks_for_more() -> None:
    review = review_drill([made_cut(1, 2.0)], THICKNESS_MM)
    assert (review.bias, review.spread, review.drift, review.scatter, review.bow) == (None,) * 5
    assert review.sizes() == {}
    assert review.advice == "more cuts"


def test_two_cuts_tell_hardly_anything() -> None:
    review = review_drill(made_cuts([0.5, 0.6]), THICKNESS_MM)
    assert review.drift is None
    assert review.advice == "more cuts"


def test_when_the_card_is_what_leaves_it_open_a_better_photo_is_asked_for() -> None:
    cuts = [made_cut(turn + 1, 0.2 + lean / 4.0, card_u_deg=0.4) for turn, lean in enumerate(STEADY.tolist())]
    assert review_drill(cuts, THICKNESS_MM).advice == "better photo"


def test_when_few_cuts_are_what_leaves_a_bias_open_more_cuts_are_asked_for() -> None:
    cuts = [made_cut(turn + 1, 0.27 + 2.0 * lean, card_u_deg=0.02) for turn, lean in enumerate(STEADY.tolist())]
    review = review_drill(cuts, THICKNESS_MM)
    assert (review.likeliest, review.advice) == ("bias", "more cuts")


def test_of_few_cuts_more_are_asked_for_whatever_the_photo_leaves_open() -> None:
    cuts = [made_cut(turn + 1, 0.2 + lean / 4.0, card_u_deg=0.4) for turn, lean in enumerate(STEADY[:4].tolist())]
    assert review_drill(cuts, THICKNESS_MM).advice == "more cuts"


def test_a_good_sawyer_is_blamed_in_one_row_of_twenty_at_most() -> None:
    """The sentence's whole claim: nothing is blamed for certain that is not there, whatever the photo's own errors."""
    rng, rows, blamed = np.random.default_rng(8), 600, 0
    spread_deg = np.degrees(np.arctan(WORTH_WORK_MM / THICKNESS_MM))
    for _ in range(rows):
        own = rng.normal(0.0, spread_deg, 8) + rng.normal(0.0, OWN_U_DEG, 8)
        review = reviewed(rng.normal(0.0, CARD_U_DEG) + own, intents=DOWN)
        blamed += review.advice not in ("nothing", "more cuts", "better photo")
    # A spread just at the limit of what is worth work, no bias, drift or difference. 5 % at most are claimed; 600 rows
    # know a share of 5 % to 0.9 %, twice of which is allowed.
    assert blamed / rows <= 0.05 + 0.018


def test_neighbours_are_counted_along_the_board_whatever_the_order() -> None:
    cuts = made_cuts([0.0, 0.0, 0.0])
    assert review_drill([cuts[2], cuts[0], cuts[1]], THICKNESS_MM).neighbours_mm == pytest.approx((8.0, 8.0))
