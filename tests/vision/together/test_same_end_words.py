"""What people read of the photos of one end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.vision.photos import measurement
from vision.end.report import Placement
from vision.together.agreement import Difference
from vision.together.combine import Deviation
from vision.together.same_end import Cancelled, Role, SameEnd
from vision.together.same_end_words import difference_words, same_end_sentences, turn_words

FIRST = Role("a.jpg", True, 1, Placement(), Deviation(9.0, 14))
END = SameEnd(measurement(), (FIRST,), ())


def sentences(*roles: Role, **changes: object) -> list[str]:
    return same_end_sentences(replace(END, roles=(FIRST, *roles), **changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("placement", "set_up", "told"),
    [
        (Placement(), 1, "b.jpg: card and board as in the first."),
        (Placement(), 2, "b.jpg: card and board set up anew."),
        (Placement(edge=2), 2, "b.jpg: the card turned end for end."),
        (Placement(edge=3), 2, "b.jpg: the card turned a quarter."),
        (Placement(side="transfer"), 2, "b.jpg: the card laid along the transfer face."),
        (Placement(edge=2, side="transfer"), 2, "b.jpg: the card turned end for end and laid along the transfer face."),
    ],
)
def test_every_way_to_lay_the_card_is_said(placement: Placement, set_up: int, told: str) -> None:
    assert told in sentences(Role("b.jpg", True, set_up, placement, Deviation(9.0, 14)))


@pytest.mark.parametrize(
    ("edge", "told"), [(0, ""), (2, ", its far edge to the board"), (1, ", a short edge to the board")]
)
def test_the_first_photo_says_how_its_own_card_lies(edge: int, told: str) -> None:
    first = replace(FIRST, placement=Placement(edge=edge))
    assert same_end_sentences(replace(END, roles=(first,)))[0] == f"a.jpg: the card lies along the show face{told}."


def test_photos_that_agree_are_said_to() -> None:
    assert (
        sentences(Role("b.jpg", True, 1, Placement(), Deviation(9.0, 14)))[-1]
        == "The 2 photos agree and were combined."
    )


def test_a_photo_left_out_says_in_what_it_differs() -> None:
    odd = Role("c.jpg", False, 1, Placement(), Deviation(99.0, 14), (Difference("lean", 0.31, 0.05, 2),))
    told = sentences(Role("b.jpg", True, 1, Placement(), Deviation(9.0, 14)), odd)
    assert any(
        "Left out: it differs in the lean of the left wall of tail 2 by 0.31 mm, and the 2" in each for each in told
    )


def test_a_photo_that_differs_in_nothing_by_itself_differs_in_many_numbers_and_others_in_three_at_most() -> None:
    odd = Role("c.jpg", False, 1, Placement(), Deviation(99.0, 14))
    agreeing = Role("b.jpg", True, 1, Placement(), Deviation(9.0, 14))
    assert "it differs in many numbers a little, and the 2 others agree." in sentences(agreeing, odd)[2]
    many = tuple(Difference(what, 0.5, 0.05) for what in ("width", "thickness", "left side"))
    said = sentences(agreeing, replace(odd, differences=(*many, Difference("lean", 0.5, 0.05, 0))))[2]
    assert said.endswith(
        "differs in the width by 0.50 mm, the thickness by 0.50 mm, the place of the left side by 0.50 mm,"
        " and the 2 others agree."
    )


def test_only_photos_that_were_used_agree_and_one_alone_does_not() -> None:
    odd = Role("c.jpg", False, 1, Placement(), Deviation(99.0, 14))
    assert sentences(Role("b.jpg", True, 1, Placement(), Deviation(9.0, 14)), odd)[3:] == [
        "The 2 photos agree and were combined."
    ]
    assert len(sentences(odd)) == 2


def test_photos_that_disagree_say_about_what() -> None:
    odd = Role("b.jpg", True, 1, Placement(), Deviation(99.0, 14), (Difference("width", -0.5, 0.05),))
    assert sentences(odd, settled=False)[-1] == "The photos differ in the width by 0.50 mm."


def test_a_side_is_a_place_and_inches_are_thousandths() -> None:
    side = Difference("left side", 0.41, 0.05)
    assert difference_words(side, END.measurement.walls, "inch") == "the place of the left side by 0.016 in"


def test_what_cancelled_is_told_with_what_it_was() -> None:
    told = sentences(cancelled=(Cancelled("card tilt", 0.031, 0.004),))[-1]
    assert told.startswith("Turning the card cancelled an error of its own, the card not parallel to the end: ")
    assert told.endswith("fell from 0.031 to 0.004 mm off square.")
    inches = same_end_sentences(replace(END, cancelled=(Cancelled("card tilt", 0.031, 0.004),)), "inch")[-1]
    assert inches.endswith("fell from 0.0012 to 0.0002 in off square.")


def test_a_card_that_lies_as_before_was_not_turned() -> None:
    assert turn_words(Placement(edge=1), Placement(edge=1)) == ""


@pytest.mark.parametrize(
    ("edge", "told"), [(0, "turned a quarter"), (1, "turned end for end"), (2, "turned a quarter")]
)
def test_turns_count_round_the_card(edge: int, told: str) -> None:
    assert turn_words(Placement(edge=3), Placement(edge=edge)) == told
