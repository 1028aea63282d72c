"""Which photos of a board are put together, and when they have to be put together anew."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from service.domain.check import Answer, Check, CheckState, Pictures, StoredPhoto, View
from service.domain.together import MOST_ENDS, Together, basis_of, belonging, candidates
from tests.service.house import BEGIN, measured


def check(minute: int, view: View = "end", state: CheckState = "measured", answered: int = 0) -> Check:
    sent, photo = BEGIN + timedelta(minutes=minute), StoredPhoto(f"photo-{minute}", "JPEG")
    answer = Answer(measured().result, {}, answered_at=BEGIN + timedelta(hours=1, minutes=answered))
    return Check(str(minute), "board", "ann", photo, str(minute), sent, view, state=state, answer=answer)


def ids(checks: tuple[Check, ...] | list[Check]) -> list[str]:
    return [each.id for each in checks]


@pytest.mark.parametrize("views", [(), ("end",), ("show",), ("show", "transfer")])
def test_one_photo_or_faces_alone_are_not_put_together(views: tuple[View, ...]) -> None:
    assert belonging([check(minute, view) for minute, view in enumerate(views)]) == ()


def test_two_ends_belong_together_and_so_do_an_end_and_a_face() -> None:
    assert ids(belonging([check(2), check(1)])) == ["1", "2"]
    assert ids(belonging([check(1), check(2, "transfer")])) == ["1", "2"]


def test_of_each_face_the_newest_counts_and_of_the_end_as_many_as_a_worker_manages() -> None:
    faces = [check(1, "show"), check(2, "show"), check(3, "transfer")]
    ends = [check(minute) for minute in range(10, 12 + MOST_ENDS)]
    chosen = belonging([*faces, *ends])
    assert ids(chosen) == ["2", "3", *(str(minute) for minute in range(12, 12 + MOST_ENDS))]


def test_photos_that_are_refused_kept_or_left_out_do_not_count() -> None:
    checks = [check(1), check(2, state="refused"), check(3, "face", "kept"), check(4), check(5, "fit", "kept")]
    assert ids(candidates(checks)) == ["1", "4"]
    assert ids(belonging(checks)) == ["1", "4"]
    assert belonging(checks, ["4"]) == ()


def test_a_photo_whose_file_was_lost_does_not_count() -> None:
    lost = replace(check(2), photo=StoredPhoto("", "JPEG"))
    assert ids(candidates([check(1), lost, check(3)])) == ["1", "3"]
    assert belonging([check(1), lost]) == ()


def test_another_answer_or_another_photo_makes_another_basis() -> None:
    bases = {
        basis_of([check(1), check(2)]),
        basis_of([check(1), check(3)]),
        basis_of([check(1), check(2, answered=1)]),
        basis_of([check(1), check(2, "show")]),
    }
    assert len(bases) == 4
    assert basis_of([check(1), check(2)]) in bases
    assert basis_of([]) == ""


def test_while_it_waits_the_answer_of_before_stays_and_without_photos_there_is_none() -> None:
    answer = measured()
    ready = Together("board", basis="a").answered(answer)
    assert (ready.asked("b").state, ready.asked("b").answer) == ("waiting", answer)
    assert (ready.asked("").state, ready.asked("").answer) == ("ready", None)


def test_its_drawings_are_those_of_its_answer() -> None:
    assert Together("board").stored_names == ()
    drawn = replace(measured(), pictures=Pictures("end.jpg", "board.jpg"))
    assert set(Together("board").answered(drawn).stored_names) == {"end.jpg", "board.jpg"}
