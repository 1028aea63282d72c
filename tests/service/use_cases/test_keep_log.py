"""The practice log: found again, changed, measured anew, deleted with everything."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor, wait
from datetime import date

import pytest

from service.domain.board import Details
from service.domain.check import Told
from service.domain.fit import Fit
from service.domain.log import PAGE_SIZE, Wanted
from service.domain.mistakes import MistakeError, NotFoundError
from service.use_cases.answer_job import finish_job, refresh_board, take_job
from service.use_cases.forget_photos import sweep_photos
from service.use_cases.keep_log import (
    boards_of,
    change_board,
    check_again,
    choose_units,
    delete_board,
    delete_check,
    look_at_board,
    look_at_check,
    look_at_log,
    note_fit,
    note_fits,
    who_is,
)
from service.use_cases.send_photo import new_board
from tests.service.house import House, measured


def found(house: House, **filters: object) -> list[str]:
    page, _ = look_at_log(Wanted("ann", **filters), house.ports)  # type: ignore[arg-type]
    return [board.name for board in page.boards]


@pytest.fixture
def three(house: House) -> House:
    """Ann's three boards on three days, and one of Ben's."""
    for name, species, saw in (("Box", "oak", "fine rip"), ("Tray 50%", "pine", "fine rip"), ("Chest", "oak", "big")):
        new_board("ann", name, Details(species, saw=saw, notes=f"Notes on the {name}"), house.ports)
        house.later(days=1)
    new_board("ben", "Box of Ben", Details("oak"), house.ports)
    return house


def test_boards_come_newest_first_and_each_person_has_their_own(three: House) -> None:
    assert found(three) == ["Chest", "Tray 50%", "Box"]


def test_the_boards_of_a_day_that_have_no_other_name_are_numbered_each_persons_for_themselves(house: House) -> None:
    boards = [new_board("ann", "", None, house.ports) for _ in range(3)]
    assert found(house, since=date(2026, 3, 2)) == [f"Board of 2 March 2026{number}" for number in (" (3)", " (2)", "")]
    assert new_board("ben", "", None, house.ports).name == "Board of 2 March 2026"
    assert change_board("ann", boards[1].id, " ", Details(), house.ports).name == "Board of 2 March 2026 (2)"
    change_board("ann", boards[0].id, "Box", Details(), house.ports)
    assert change_board("ann", boards[2].id, "", Details(), house.ports).name == "Board of 2 March 2026"
    house.later(days=1)
    assert new_board("ann", "", None, house.ports).name == "Board of 3 March 2026"


def test_boards_asked_for_by_their_ids_are_the_persons_own_and_each_once(three: House) -> None:
    own, other = (look_at_log(Wanted(person), three.ports)[0].boards[0] for person in ("ann", "ben"))
    assert boards_of("ann", [own.id, other.id, "nobodys", own.id], three.ports) == [own]


def test_boards_are_narrowed_by_every_filter(three: House) -> None:
    assert found(three, species="oak") == ["Chest", "Box"]
    assert found(three, saw="fine rip", species="oak") == ["Box"]
    assert found(three, text="TRAY") == ["Tray 50%"]
    assert found(three, text="notes chest") == ["Chest"]
    assert found(three, since=date(2026, 3, 3)) == ["Chest", "Tray 50%"]
    assert found(three, until=date(2026, 3, 3)) == ["Tray 50%", "Box"]
    assert found(three, standing="transfer") == []


def test_signs_that_databases_know_are_letters_like_any_other(three: House) -> None:
    assert found(three, text="50%") == ["Tray 50%"]
    assert found(three, text="%") == ["Tray 50%"]
    assert found(three, text="_") == []
    assert found(three, text="' OR 1=1 --") == []


def test_the_filters_offer_what_ones_own_boards_have(three: House) -> None:
    choices = look_at_log(Wanted("ann"), three.ports)[1]
    assert (choices.species, choices.saws) == (("oak", "pine"), ("big", "fine rip"))


def test_long_logs_come_in_pages_and_a_page_past_the_last_is_the_last(house: House) -> None:
    for number in range(PAGE_SIZE + 3):
        new_board("ann", f"{number}", None, house.ports)
        house.later(minutes=1)
    page, _ = look_at_log(Wanted("ann", page=9), house.ports)
    assert (page.page, page.pages, page.total) == (2, 2, PAGE_SIZE + 3)
    assert [board.name for board in page.boards] == ["2", "1", "0"]


def test_another_wood_or_thickness_is_measured_anew_and_another_name_is_not(house: House) -> None:
    check = house.send(b"one", name="Box", details=Details("oak"))
    house.answer(measured())
    change_board("ann", check.board, "Chest", Details("oak", saw="fine rip"), house.ports)
    assert look_at_check("ann", check.id, house.ports).state == "measured"
    changed = change_board("ann", check.board, "Chest", Details("pine"), house.ports)
    assert (changed.name, changed.standing) == ("Chest", "waiting")
    house.answer(measured("pare"))
    assert look_at_board("ann", check.board, house.ports).board.standing == "pare"


def test_what_is_changed_while_a_worker_measures_is_measured_anew_and_its_late_answer_dropped(house: House) -> None:
    check = house.send(b"one", details=Details("pine"))
    late = take_job("slow", 60.0, house.ports)
    assert late is not None
    change_board("ann", check.board, "", Details("oak"), house.ports)
    assert not finish_job(late, measured("transfer"), house.ports)
    taken = take_job("w", 60.0, house.ports)
    assert taken is not None
    assert taken.board.details.species == "oak"
    assert finish_job(taken, measured("pare"), house.ports)
    assert look_at_board("ann", check.board, house.ports).board.standing == "pare"
    assert take_job("w", 60.0, house.ports) is None


def test_another_print_measures_faces_anew_and_another_wood_does_not(house: House) -> None:
    end = house.send(b"one", details=Details("oak"))
    face = house.send(b"two", board=end.board, view="show")
    for _ in range(2):
        house.answer(measured())
    change_board("ann", end.board, "", Details("pine"), house.ports)
    assert states(house, end.board) == {"end": "waiting", "show": "measured"}
    house.answer(measured())
    change_board("ann", end.board, "", Details("pine", print="workshop"), house.ports)
    assert states(house, end.board) == {"end": "waiting", "show": "waiting"}
    assert {house.answer(measured()) for _ in range(2)} == {end.id, face.id}


def states(house: House, board: str) -> dict[str, str]:
    return {check.view: check.state for check in look_at_board("ann", board, house.ports).checks}


def test_a_kept_photo_is_measured_again_with_other_settings_but_not_while_it_waits(house: House) -> None:
    check = house.send(b"one")
    with pytest.raises(MistakeError, match="still being measured"):
        check_again("ann", check.id, Told("cleared"), house.ports)
    house.answer(measured())
    assert check_again("ann", check.id, Told("cleared"), house.ports).told.stage == "cleared"
    house.answer(measured("start over"))
    found_again = look_at_check("ann", check.id, house.ports)
    assert (found_again.advice, found_again.told) == ("start over", Told("cleared"))


def test_pictures_of_an_answer_that_was_replaced_are_removed(house: House) -> None:
    check = house.send(b"one")
    first, second = (house.ports.photos.put(data, "JPEG").name for data in (b"old", b"new"))
    house.answer(measured(thumbnail=first))
    check_again("ann", check.id, Told(), house.ports)
    house.answer(measured(thumbnail=second))
    assert house.stored() == {check.photo.name, second}


def test_a_deleted_board_is_gone_with_its_photos_but_not_with_those_of_others(house: House) -> None:
    shared = house.send(b"one", "ann")
    house.send(b"two", "ann", board=shared.board)
    kept = house.send(b"one", "ben")
    note_fits("ann", shared.board, {0: "seated"}, house.ports)
    delete_board("ann", shared.board, house.ports)
    with pytest.raises(NotFoundError):
        look_at_board("ann", shared.board, house.ports)
    with pytest.raises(NotFoundError):
        look_at_check("ann", shared.id, house.ports)
    assert house.stored() == {kept.photo.name}
    with house.ports.reading() as uow:
        assert uow.fits.of_board(shared.board) == []
        assert uow.jobs.waiting() == 1


def test_a_deleted_photo_leaves_its_board_standing_by_the_rest(house: House) -> None:
    first = house.send(b"one")
    house.answer(measured("pare"))
    house.later(seconds=1)
    second = house.send(b"two", board=first.board)
    house.answer(measured("transfer"))
    assert delete_check("ann", second.id, house.ports) == first.board
    assert look_at_board("ann", first.board, house.ports).board.standing == "pare"
    assert house.stored() == {first.photo.name}


def test_what_is_said_of_the_fit_replaces_what_was_said_before(house: House) -> None:
    board = house.send(b"one").board
    note_fits("ann", board, {0: "seated", 1: "loose"}, house.ports)
    note_fits("ann", board, {1: "split"}, house.ports)
    fits = look_at_board("ann", board, house.ports).fits
    assert [(fit.socket, fit.outcome) for fit in fits] == [(1, "split")]


def test_what_is_said_of_the_fit_leaves_alone_what_a_worker_writes_at_that_moment(house: House) -> None:
    check = house.send(b"one")
    task = take_job("w", 60.0, house.ports)
    assert task is not None
    with ThreadPoolExecutor() as pool:
        with house.ports.unit_of_work() as uow:
            assert uow.jobs.remove(task.job)
            uow.checks.put(task.check.answered(measured()))
            refresh_board(uow, check.board)
            saying = pool.submit(note_fit, "ann", check.board, "Light taps.", house.ports)
            wait([saying], 0.5)  # as far as it can get before this transaction ends
            uow.commit()
        assert saying.result().fit_note == "Light taps."
    board = look_at_board("ann", check.board, house.ports).board
    assert (board.standing, board.fit_note) == ("transfer", "Light taps.")


def test_two_who_say_how_it_fitted_at_once_do_it_one_after_the_other(house: House) -> None:
    board = house.send(b"one").board
    with ThreadPoolExecutor() as pool:
        with house.ports.unit_of_work() as uow:
            uow.boards.hold(board)
            uow.fits.replace(board, [Fit(0, "loose", house.clock[0])])
            saying = pool.submit(note_fits, "ann", board, {0: "seated"}, house.ports)
            wait([saying], 0.5)
            uow.commit()
        assert [fit.outcome for fit in saying.result()] == ["seated"]
    assert [fit.outcome for fit in look_at_board("ann", board, house.ports).fits] == ["seated"]


def test_nobody_sees_or_changes_what_is_anothers(house: House) -> None:
    check = house.send(b"one", "ann")
    ports = house.ports
    for attempt in (
        lambda: look_at_board("ben", check.board, ports),
        lambda: look_at_check("ben", check.id, ports),
        lambda: change_board("ben", check.board, "", Details(), ports),
        lambda: check_again("ben", check.id, Told(), ports),
        lambda: note_fits("ben", check.board, {}, ports),
        lambda: delete_board("ben", check.board, ports),
        lambda: delete_check("ben", check.id, ports),
    ):
        with pytest.raises(NotFoundError):
            attempt()
    assert look_at_check("ann", check.id, ports) == check


def test_units_are_a_persons_own(house: House) -> None:
    choose_units("ann", "inch", house.ports)
    assert (who_is("ann", house.ports).units, who_is("ben", house.ports).units) == ("inch", "mm")


def test_files_that_no_row_holds_are_swept_once_they_are_old_enough(house: House) -> None:
    kept = house.send(b"one").photo.name
    house.ports.photos.put(b"left behind", "JPEG")
    assert sweep_photos(3600.0, house.ports) == 0
    assert sweep_photos(-1.0, house.ports) == 1
    assert house.stored() == {kept}
