"""The drill's sentences: each says what the figures carry, in the units asked for."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.drill.test_drill_review import LEFT, RIGHT, STEADY, TURNS, reviewed
from tests.vision.drills import THICKNESS_MM, made_cut, made_cuts
from vision.drill.plan import Intent
from vision.drill.review import review_drill
from vision.drill.words import advice_sentence, figure_sentences, significance, strayed_sentences


def test_a_bias_is_told_with_its_way_its_uncertainty_and_what_it_makes() -> None:
    assert advice_sentence(reviewed(STEADY + 0.6)) == (
        "Work on your lean: on the way to the transfer face your cuts go 0.60 ± 0.09° too far to the right on average,"
        " 0.19 mm over the thickness."
    )
    assert "to the left on average, 0.007 in over" in advice_sentence(reviewed(STEADY - 0.6), "inch")


@pytest.mark.parametrize(
    ("leans", "words"),
    [
        (10.0 * STEADY, "Work on sawing every cut alike: leans scatter by 0.6"),
        (STEADY + 0.2 * TURNS, "your lean moves 0.20 ± 0.02° to the right, 0.4"),
        (STEADY - 0.2 * TURNS, "your lean moves 0.20 ± 0.02° to the left, 0.4"),
        (STEADY / 8.0, "Nothing to work on in these cuts: lean, scatter, drift and bow each stay within 0.05 mm"),
    ],
)
def test_each_kind_of_advice_has_its_sentence(leans: np.ndarray, words: str) -> None:
    assert words in advice_sentence(reviewed(leans))


def test_a_chance_too_small_to_be_known_is_told_as_smaller_than_one_that_is() -> None:
    sure, fair = (reviewed(STEADY + bias).bias for bias in (3.0, 0.1))
    assert sure is not None
    assert fair is not None
    assert significance(sure) == "firm (p < 0.001)"
    assert significance(fair).startswith("firm (p = 0.0")


def test_left_against_right_says_which_way_they_come_apart() -> None:
    meant = np.tile([7.0, -7.0], 4) + STEADY
    wide = reviewed(meant + np.tile([0.5, -0.5], 4), intents=(RIGHT, LEFT))
    close = reviewed(meant - np.tile([0.6, -0.6], 4), intents=(RIGHT, LEFT))
    assert advice_sentence(wide).endswith("so the two come out too far apart.")
    assert advice_sentence(close).endswith("so the two come out not far enough apart.")


def test_a_bow_is_told_with_its_way() -> None:
    assert "your cuts stand 0.10 mm to the left of a straight line" in advice_sentence(
        reviewed(STEADY / 4.0, bow_mm=-0.1)
    )


def test_too_few_cuts_ask_for_more_and_say_what_is_least_known() -> None:
    assert advice_sentence(review_drill([made_cut(1, 2.0)], THICKNESS_MM)) == (
        "One cut does not tell for certain what to work on: saw 5 on one board to know."
    )
    assert "(least is known of how" in advice_sentence(review_drill(made_cuts([0.5, 0.6]), THICKNESS_MM))


def test_cuts_that_were_enough_to_ask_but_not_to_tell_ask_for_twice_as_many() -> None:
    cuts = [made_cut(turn + 1, 0.27 + 2.0 * lean, card_u_deg=0.02) for turn, lean in enumerate(STEADY.tolist())]
    asked = advice_sentence(review_drill(cuts, THICKNESS_MM))
    assert asked.startswith("These 8 cuts do not tell")
    assert asked.endswith("saw 16 on one board to know.")


def test_only_scatter_that_drift_and_sides_were_taken_from_is_said_to_be_about_them() -> None:
    assert advice_sentence(reviewed(10.0 * STEADY)).endswith("over the thickness about their own drift and sides.")
    two = advice_sentence(reviewed(np.array([5.0, -5.0])))
    assert two.startswith("Work on sawing every cut alike")
    assert two.endswith("over the thickness.")


def test_when_the_photo_is_to_blame_it_says_so() -> None:
    cuts = [made_cut(turn + 1, 0.2 + lean / 4.0, card_u_deg=0.4) for turn, lean in enumerate(STEADY.tolist())]
    assert advice_sentence(review_drill(cuts, THICKNESS_MM)).startswith("This photo does not tell for certain")


def test_figures_say_whether_they_are_firm() -> None:
    figures = figure_sentences(reviewed(STEADY + 0.2 * TURNS))
    assert figures[0] == "Mean lean off what was meant: 0.0 ± 0.4° (0.00 mm over the thickness)."
    assert figures[2].startswith("Drift from cut to cut: 0.20 ± 0.02°, firm (p < 0.001)")
    assert any(sentence.startswith("Mean bow") and "not firm" in sentence for sentence in figures)
    assert figures[-1] == "Spacing along the board: 8.00 mm to 8.00 mm."


def test_a_single_cut_has_no_figures() -> None:
    assert figure_sentences(review_drill([made_cut(1, 2.0)], THICKNESS_MM)) == []


def test_steep_cuts_that_count_as_square_are_asked_about() -> None:
    steep = [made_cut(1, 0.2), made_cut(2, -6.8), made_cut(3, 7.1, intent=Intent(7.0, "right"))]
    assert strayed_sentences(steep) == [
        "Cuts that lean by more than 3°, taken for square: 2. If they were meant to lean, tell it: --intended."
        " What to work on may be another thing then."
    ]
    assert strayed_sentences(steep[:1]) == []
