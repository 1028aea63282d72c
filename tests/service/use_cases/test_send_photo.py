"""A photo comes in: accepted once, on disk before it is accepted, and nobody else's board is touched."""

from __future__ import annotations

from dataclasses import replace

import pytest

from calibration.outcome import CannotMeasure, refuse
from service.domain.board import Details
from service.domain.check import Told
from service.domain.log import Wanted
from service.domain.mistakes import MistakeError, NotFoundError
from service.use_cases.keep_log import look_at_board, look_at_log
from service.use_cases.send_photo import Sending, new_board, send_photo
from tests.service.house import House


def boards_of(house: House, person: str = "ann") -> int:
    return look_at_log(Wanted(person), house.ports)[0].total


def test_a_photo_makes_a_board_a_check_and_a_job_and_wakes_a_worker(house: House) -> None:
    check = house.send(b"one", name="Oak drawer", told=Told("sawn", "transfer"))
    view = look_at_board("ann", check.board, house.ports)
    assert (view.board.name, view.board.standing) == ("Oak drawer", "waiting")
    assert [each.told for each in view.checks] == [Told("sawn", "transfer")]
    assert house.ports.photos.read(check.photo.name) == b"one"
    assert house.woken == [1]
    with house.ports.reading() as uow:
        assert uow.jobs.waiting() == 1


def test_the_same_photo_twice_is_one_check(house: House) -> None:
    first, known_first = send_photo("ann", Sending(b"one"), house.ports)
    again, known_again = send_photo("ann", Sending(b"one", name="Another"), house.ports)
    assert (again.id, known_first, known_again) == (first.id, False, True)
    assert boards_of(house) == 1
    assert len(house.stored()) == 1


def test_two_people_may_send_the_same_photo_and_each_has_a_check_of_their_own(house: House) -> None:
    assert house.send(b"one", "ann").id != house.send(b"one", "ben").id
    assert len(house.stored()) == 1


def test_a_second_photo_joins_the_board_that_was_named(house: House) -> None:
    first = house.send(b"one")
    house.later(seconds=5)
    second = house.send(b"two", board=first.board)
    assert [each.id for each in look_at_board("ann", first.board, house.ports).checks] == [first.id, second.id]


def test_nobody_sends_a_photo_to_anothers_board(house: House) -> None:
    board = house.send(b"one", "ann").board
    with pytest.raises(NotFoundError):
        house.send(b"two", "ben", board=board)
    assert boards_of(house, "ben") == 0
    with pytest.raises(NotFoundError):
        house.send(b"two", "ben", board="never")


def test_a_board_that_no_database_could_name_is_not_found(house: House) -> None:
    with pytest.raises(NotFoundError):
        house.send(b"one", board="a\0b")


def test_what_cannot_be_stored_leaves_nothing_behind(house: House) -> None:
    def refuses(data: bytes) -> tuple[bytes, str]:
        raise refuse("not_an_image")

    with pytest.raises(CannotMeasure):
        send_photo("ann", Sending(b"text"), replace(house.ports, clean=refuses))
    with pytest.raises(MistakeError):
        house.send(b"one", name="x" * 81)
    assert boards_of(house) == 0
    assert house.woken == []


def test_wood_and_saw_are_remembered_for_the_next_board_and_thickness_and_notes_are_not(house: House) -> None:
    new_board("ann", "", Details("cherry", 19.0, "fine rip", "three tails", "first try"), house.ports)
    following = look_at_board("ann", house.send(b"one").board, house.ports).board.details
    assert following == Details("cherry", saw="fine rip")
    assert look_at_board("ben", house.send(b"two", "ben").board, house.ports).board.details == Details()


def test_of_one_photo_sent_twice_at_once_the_second_gets_what_became_of_the_first(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = house.send(b"one")
    monkeypatch.setattr("service.use_cases.send_photo._known", lambda *unused: None)  # looked before the first was kept
    assert send_photo("ann", Sending(b"one"), house.ports) == (first, True)
    with house.ports.reading() as uow:
        assert uow.jobs.waiting() == 1
