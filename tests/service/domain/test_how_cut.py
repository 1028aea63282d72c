"""How practice cuts were made: in the command line's words, and mistakes told at their fields."""

from __future__ import annotations

import pytest

from service.domain.how_cut import HowCut, numbered_order
from service.domain.mistakes import MistakeError
from vision.drill.plan import SQUARE, DrillPlan, Intent


def test_without_a_word_cuts_run_from_left_to_right_square_and_in_their_middle() -> None:
    assert HowCut().plan == DrillPlan("left-to-right", (SQUARE,), ("both",))


def test_what_is_told_is_read_as_the_command_line_reads_it() -> None:
    told = HowCut("3,1,2", "7,-7", "left,right")
    assert told.plan == DrillPlan((3, 1, 2), (Intent(7.0, "right"), Intent(-7.0, "left")), ("left", "right"))


def test_numbers_are_kept_as_the_command_line_reads_them() -> None:
    assert HowCut(numbered_order(" 3 1. 2 ")).plan.order == (3, 1, 2)
    with pytest.raises(
        MistakeError, match=r"^The order names cut 2 more than once; name every cut once.*\.$"
    ) as caught:
        numbered_order("2,2")
    assert caught.value.field == "order_numbers"


@pytest.mark.parametrize(
    ("field", "words", "sentence"),
    [
        ("order", "backwards", "The order must be left-to-right, right-to-left or the cuts' numbers"),
        ("intended", "steep", "The leans that were meant must be left, right or degrees up to 15"),
        ("intended", "16", "The leans that were meant must be left, right or degrees up to 15"),
        ("keep", "neither", "The side that was kept must be left, right or both"),
        ("order", "1," * 200, "The order is too long"),
    ],
)
def test_a_mistake_is_told_in_a_sentence_at_its_field(field: str, words: str, sentence: str) -> None:
    with pytest.raises(MistakeError, match=sentence) as caught:
        HowCut(**{field: words})
    assert caught.value.field == field
