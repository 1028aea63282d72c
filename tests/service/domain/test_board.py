"""What a person may say of a board, and how a board stands by its photos."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from service.domain.board import Details, board_name, is_corrected, numbered_name, standing_of, thumbnail_of
from service.domain.check import Answer, Check, CheckState, Pictures, StoredPhoto, View
from service.domain.fit import Fit
from service.domain.mistakes import MistakeError
from tests.service.house import BEGIN, measured


def check(minute: int, state: CheckState = "measured", advice: str = "transfer", view: View = "end") -> Check:
    answer = (
        None if state == "waiting" else measured(advice, f"thumb-{minute}") if state == "measured" else Answer({}, {})
    )
    photo = StoredPhoto(f"photo-{minute}", "JPEG")
    sent = BEGIN + timedelta(minutes=minute)
    return Check(str(minute), "board", "ann", photo, str(minute), sent, view, state=state, answer=answer)


def test_a_board_without_photos_of_its_end_is_empty() -> None:
    assert standing_of([]) == "empty"
    assert standing_of([check(1, "kept", view="face")]) == "empty"


def test_a_board_stands_by_its_newest_measured_end_whatever_order_they_come_in() -> None:
    assert standing_of([check(2, advice="pare"), check(1, advice="start over")]) == "pare"


def test_a_board_waits_while_any_of_its_photos_does() -> None:
    assert standing_of([check(1), check(2, "waiting")]) == "waiting"


def test_a_refused_photo_does_not_undo_an_earlier_answer() -> None:
    assert standing_of([check(1, advice="pare"), check(2, "refused")]) == "pare"
    assert standing_of([check(2, "refused")]) == "refused"
    assert standing_of([check(2, "failed")]) == "failed"


def test_the_picture_of_a_board_is_that_of_its_newest_measured_end() -> None:
    shown = Check("9", "board", "ann", StoredPhoto("p", "JPEG"), "9", BEGIN + timedelta(hours=1), "face", state="kept",
                  answer=Answer({}, {}, Pictures(thumbnail="face")))  # fmt: skip
    assert thumbnail_of([check(1), check(2), shown]) == "thumb-2"
    assert thumbnail_of([shown]) == "face"
    assert thumbnail_of([check(1, "waiting")]) == ""


def test_a_board_is_corrected_where_its_newest_measured_end_is() -> None:
    as_found, corrected, refused = check(1), replace(check(2), original=Answer({}, {})), check(3, "refused")
    assert corrected.corrected
    assert is_corrected([corrected, as_found, refused])
    assert not is_corrected([replace(corrected, sent_at=BEGIN), as_found])
    assert not is_corrected([])


def test_a_board_without_a_name_gets_the_day() -> None:
    assert board_name("  ", BEGIN) == "Board of 2 March 2026"
    assert board_name(" Oak \n drawer ", BEGIN) == "Oak drawer"


def test_a_name_is_as_long_as_can_be_kept_and_leaves_room_for_a_number_where_it_gets_one() -> None:
    assert board_name("x" * 80, BEGIN) == "x" * 80
    assert numbered_name("x" * 75, 9999) == f"{'x' * 75} 9999"
    for attempt in (lambda: board_name("x" * 81, BEGIN), lambda: numbered_name("x" * 76, 1)):
        with pytest.raises(MistakeError) as caught:
            attempt()
        assert caught.value.field == "name"


def test_boards_of_one_day_without_a_name_are_told_apart_and_names_that_were_wanted_stay() -> None:
    taken = {"Board of 2 March 2026", "Board of 2 March 2026 (2)", "Oak drawer"}
    assert board_name("", BEGIN, taken) == "Board of 2 March 2026 (3)"
    assert board_name("Oak drawer", BEGIN, taken) == "Oak drawer"


@pytest.mark.parametrize("thickness_mm", [2.9, 80.1, float("nan")])
def test_a_thickness_that_no_board_has_is_a_mistake(thickness_mm: float) -> None:
    with pytest.raises(MistakeError, match="between 3 and 80 mm") as caught:
        Details(thickness_mm=thickness_mm)
    assert caught.value.field == "thickness"


def test_texts_are_bounded_and_hold_nothing_that_cannot_be_kept() -> None:
    with pytest.raises(MistakeError, match="species is too long"):
        Details(species="x" * 81)
    for foreign in ("\0", "\x1b", "\ud800"):
        with pytest.raises(MistakeError, match="cannot be kept"):
            Details(notes=f"a{foreign}b")
    assert Details(notes="two\nlines").notes == "two\nlines"


def test_a_fit_is_one_of_four_words_for_a_socket_that_can_be() -> None:
    with pytest.raises(MistakeError, match="seated, loose, split, not assembled"):
        Fit(0, "great", BEGIN)  # type: ignore[arg-type]
    with pytest.raises(MistakeError, match="from 0 to 59"):
        Fit(60, "seated", BEGIN)


def test_a_check_that_is_measured_again_has_no_advice_until_then() -> None:
    first = check(1, advice="pare")
    again = first.again(first.told)
    assert first.advice == "pare"
    assert again.advice == ""
    assert again.stored_names == first.stored_names
