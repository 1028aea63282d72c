"""Reviews and their marks, which boards wait for one, and reviews as plain data."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from service.domain.board import LONGEST_TEXT, STANDINGS, Board, Standing
from service.domain.check import Check, StoredPhoto
from service.domain.log import LogPage
from service.domain.mistakes import MistakeError
from service.domain.review import ABOUT_PRACTICE, ADVICES, DECISIONS, MOST_MARKS, Mark, Review
from service.domain.review_queue import PAGE_SIZE, URGENCY, with_review
from service.domain.review_record import review_from_record, review_record
from service.domain.saved_remark import remark_text
from tests.service.house import BEGIN

LATER = BEGIN + timedelta(hours=1)
BOARD = Board("board", "juno", "Box", BEGIN, standing="pare")


def check(sent_at: datetime = BEGIN) -> Check:
    return Check("check", "board", "juno", StoredPhoto("photo", "JPEG"), "0", sent_at)


def review(**values: object) -> Review:
    known = Review("id", "board", "wren", "Wren", LATER, "transfer", "pare", "check", "picture", "Well sawn.",
                   (Mark(0.25, 0.5, "The saw wandered here."),))  # fmt: skip
    return replace(known, **values)  # type: ignore[arg-type]


def rank(board: Board, *reviews: Review, checks: tuple[Check, ...] = (check(),)) -> int | None:
    return with_review(board, checks, reviews).review_rank


def test_decisions_are_the_words_of_the_tools_own_advice_but_for_those_about_practice_cuts() -> None:
    assert set(ADVICES) < set(STANDINGS)
    assert set(DECISIONS) == {*ADVICES, *ABOUT_PRACTICE}


@pytest.mark.parametrize("place", [-0.001, 1.001, float("nan"), float("inf")])
def test_a_mark_lies_on_the_picture(place: float) -> None:
    for x, y in ((place, 0.5), (0.5, place)):
        with pytest.raises(MistakeError, match="on the picture"):
            Mark(x, y, "here")
    assert Mark(0.0, 1.0, "corner").comment == "corner"


@pytest.mark.parametrize(("comment", "why"), [("", "needs a comment"), (" \n", "needs a comment"), ("x" * 501, "500")])
def test_a_mark_says_something_and_not_too_much(comment: str, why: str) -> None:
    with pytest.raises(MistakeError, match=why):
        Mark(0.5, 0.5, comment)


def test_a_picture_takes_only_so_many_marks() -> None:
    with pytest.raises(MistakeError, match=f"{MOST_MARKS} marks"):
        review(marks=(Mark(0.5, 0.5, "x"),) * (MOST_MARKS + 1))
    assert len(review(marks=(Mark(0.5, 0.5, "x"),) * MOST_MARKS).marks) == 40


@pytest.mark.parametrize("remarks", ["x" * (LONGEST_TEXT + 1), "\x00"])
def test_remarks_that_cannot_be_kept_are_a_mistake(remarks: str) -> None:
    with pytest.raises(MistakeError) as caught:
        review(remarks=remarks)
    assert caught.value.field == "remarks"
    assert review(remarks="x" * LONGEST_TEXT).remarks == "x" * 4000


def test_the_doubtful_come_first_then_the_failing_then_the_rest() -> None:
    order: list[Standing] = ["photograph again", "start over", "pare", "transfer"]
    ranks = [rank(replace(BOARD, standing=standing)) for standing in order]
    assert ranks == [0, 1, 2, 3]
    assert {URGENCY["refused"], URGENCY["failed"]} == {0}


@pytest.mark.parametrize("standing", ["empty", "waiting"])
def test_a_board_without_an_answer_waits_for_no_review(standing: Standing) -> None:
    assert rank(replace(BOARD, standing=standing)) is None


def test_a_review_takes_the_board_off_the_queue_and_leaves_how_it_stands() -> None:
    after = with_review(BOARD, [check()], [review()])
    assert (after.review_rank, after.decision, after.reviewed_at) == (None, "transfer", LATER)
    assert after.standing == "pare"


def test_a_board_waits_again_when_something_new_is_to_be_seen() -> None:
    newer = LATER + timedelta(seconds=1)
    assert rank(BOARD, review(), checks=(check(), check(newer))) == 2
    assert rank(replace(BOARD, handed_in=newer), review()) == 2
    assert rank(replace(BOARD, standing="start over"), review()) == 1
    assert rank(replace(BOARD, handed_in=BEGIN), review()) is None


def test_the_newest_of_several_reviews_counts_whatever_order_they_come_in() -> None:
    newest = review(id="b", made_at=LATER + timedelta(hours=1), decision="start over", reviewer="moss")
    for both in ([review(), newest], [newest, review()]):
        assert with_review(BOARD, [check()], both).decision == "start over"


def test_what_an_import_brought_decides_nothing() -> None:
    after = with_review(BOARD, [check()], [review(reviewer="", imported=True)])
    assert (after.decision, after.reviewed_at, after.review_rank) == ("", None, 2)


def test_what_an_instructor_decided_who_has_left_still_counts() -> None:
    after = with_review(BOARD, [check()], [review(reviewer="", name="")])
    assert (after.decision, after.reviewed_at, after.review_rank) == ("transfer", LATER, None)


def test_portions_are_counted_up() -> None:
    assert [LogPage((), total, 1, PAGE_SIZE).pages for total in (0, 12, 13)] == [1, 1, 2]


def record(**values: object) -> dict[str, object]:
    whole: dict[str, object] = json.loads(json.dumps(review_record(review(seen_at=LATER), "juno")))
    return whole | values


def read(told: dict[str, object], *, alone: bool = False, board: Board = BOARD) -> Review:
    names = {"picture": "picture-now"}
    return review_from_record(told, board, {"check": "check-now"}, names, LATER, alone=alone)


def test_a_review_comes_back_from_its_record_on_the_picture_as_it_is_stored_now() -> None:
    back = read(record())
    found = {"check": "check-now", "picture": "picture-now", "seen_at": LATER}
    assert back == review(reviewer="", imported=True, **found)


def test_nobody_but_a_person_alone_is_taken_for_the_reviewer() -> None:
    own = json.loads(json.dumps(review_record(review(reviewer="juno"), "juno")))
    assert own["own"] is True
    assert "juno" not in json.dumps(own | {"own": None})
    assert (read(own).reviewer, read(own).imported) == ("", True)
    assert (read(own, alone=True).reviewer, read(own, alone=True).imported) == ("juno", False)
    assert (read(record(), alone=True).reviewer, read(record(), alone=True).imported) == ("", True)


def test_a_file_cannot_pass_a_review_off_as_that_of_somebody_who_has_left() -> None:
    for alone in (False, True):
        forged = read(record(name="", imported=False), alone=alone)
        assert forged.imported
        assert with_review(BOARD, [check()], [forged]).decision == ""


def test_a_review_that_comes_from_the_future_is_one_of_today() -> None:
    assert read(record(made_at="2999-01-01T00:00:00+00:00")).made_at == LATER


def test_a_review_of_a_photo_that_did_not_come_along_keeps_its_words_alone() -> None:
    back = read(record(check="another"))
    assert (back.check, back.picture, back.marks) == ("", "", review().marks)


@pytest.mark.parametrize(
    "damage",
    [
        {"decision": "great"},
        {"advice": "great"},
        {"id": "../x"},
        {"made_at": "yesterday"},
        {"marks": [{"x": "a", "y": 0.5, "comment": "x"}]},
        {"marks": [7]},
        {"remarks": None},
        {"name": "x" * 81},
        {"picture": "not in the export"},
    ],
)
def test_a_damaged_record_is_no_review(damage: dict[str, object]) -> None:
    with pytest.raises((KeyError, TypeError, ValueError)):
        read(record(**damage))


def test_a_remark_to_keep_is_one_line_with_words() -> None:
    assert remark_text("  Watch\n the far   face. ") == "Watch the far face."
    for typed, why in (("  ", "needs words"), ("x" * 501, "too long")):
        with pytest.raises(MistakeError, match=why):
            remark_text(typed)
