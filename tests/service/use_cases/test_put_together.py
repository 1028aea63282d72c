"""A board's photos are put together once they are all answered, and anew whenever an answer changes."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from threading import Thread

import pytest

from service.domain.board import Details
from service.domain.check import Answer, Pictures, StoredPhoto, Told
from service.domain.job import MOST_ATTEMPTS
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.together import Together
from service.jobs.bench import Bench
from service.jobs.measuring import measure
from service.use_cases.answer_job import Task, fail_job, finish_job, refresh_board, take_job
from service.use_cases.export_log import export_json
from service.use_cases.import_log import import_log
from service.use_cases.keep_log import change_board, check_again, delete_board, delete_check, look_at_board
from service.use_cases.put_together import choose_photos
from service.use_cases.sign_in import remove_person
from tests.service.house import House, measured, open_house, refused
from tests.service.one_board import measure_one_board
from tests.service.web.site import photo


def take(house: House) -> Task:
    task = take_job("w", 60.0, house.ports)
    assert task is not None
    return task


def together(house: House, board: str) -> Together | None:
    return look_at_board("ann", board, house.ports).together


def two_ends(house: House) -> tuple[str, list[str]]:
    """A board with two measured ends, and their checks."""
    first = house.send(b"one")
    second = house.send(b"two", board=first.board)
    for _ in range(2):
        house.answer(measured())
        house.later(seconds=3)
    return first.board, [first.id, second.id]


def drawn(house: House) -> Answer:
    """An answer with stored pictures."""
    names = [house.ports.photos.put(data, "JPEG").name for data in (b"end drawn", b"board drawn")]
    words: dict[str, object] = {"photos": [], "end": None, "board": None}
    return Answer({"photos": []}, {"mm": words, "inch": words}, Pictures(*names))


def test_one_photo_is_answered_and_nothing_is_put_together(house: House) -> None:
    board = house.send(b"one").board
    house.answer(measured())
    assert together(house, board) is None
    assert take_job("w", 60.0, house.ports) is None


def test_the_last_of_two_answers_asks_for_both_together(house: House) -> None:
    first = house.send(b"one")
    second = house.send(b"two", board=first.board)
    house.answer(measured())
    assert together(house, first.board) is None
    house.answer(measured())
    asked = together(house, first.board)
    assert asked is not None
    assert asked.state == "waiting"
    task = take(house)
    assert task.photos is not None
    assert [check.id for check in task.photos.chosen] == [first.id, second.id]
    assert task.check.id == second.id  # by the newest end the board stands
    assert finish_job(task, drawn(house), house.ports)
    ready = together(house, first.board)
    assert ready is not None
    assert ready.answer is not None
    assert (ready.state, ready.answer.answered_at) == ("ready", house.clock[0])
    assert take_job("w", 60.0, house.ports) is None


def test_two_workers_that_finish_the_last_two_photos_at_once_see_one_another(house: House) -> None:
    first = house.send(b"one")
    house.send(b"two", board=first.board)
    one, two = take(house), take(house)
    other = Thread(target=finish_job, args=(two, measured(), house.ports))
    with house.ports.unit_of_work() as uow:
        assert uow.jobs.remove(one.job)
        uow.checks.put(one.check.answered(replace(measured(), answered_at=house.clock[0])))
        refresh_board(uow, first.board)
        other.start()
        other.join(0.5)  # long enough to get as far as it can; it has to wait for this transaction
        uow.commit()
    other.join()
    found = look_at_board("ann", first.board, house.ports)
    assert found.board.standing == "transfer"
    assert found.together is not None
    assert found.together.state == "waiting"


def test_every_photos_own_answer_and_the_boards_standing_stay_what_they_were(house: House) -> None:
    board, _ = two_ends(house)
    before = look_at_board("ann", board, house.ports)
    assert finish_job(take(house), drawn(house), house.ports)
    after = look_at_board("ann", board, house.ports)
    assert (after.board, after.checks) == (before.board, before.checks)


def test_a_refused_photo_is_not_among_them(house: House) -> None:
    first = house.send(b"one")
    house.send(b"two", board=first.board)
    house.answer(measured())
    house.answer(refused())
    assert together(house, first.board) is None


def test_another_wood_measures_the_ends_and_then_puts_them_together_anew(house: House) -> None:
    board, _ = two_ends(house)
    assert finish_job(take(house), drawn(house), house.ports)
    change_board("ann", board, "", Details("pine"), house.ports)
    for _ in range(2):
        house.later(seconds=3)
        house.answer(measured())
    asked = together(house, board)
    assert asked is not None
    assert asked.state == "waiting"
    assert take(house).photos is not None


def test_an_answer_that_comes_after_the_photos_changed_is_dropped(house: House) -> None:
    board, checks = two_ends(house)
    late = take(house)
    house.send(b"three", board=board)
    task = take(house)
    assert task.check.id not in checks
    house.later(seconds=3)
    assert finish_job(task, measured(), house.ports)
    assert not finish_job(late, drawn(house), house.ports)
    anew = take(house)
    assert anew.photos is not None
    assert len(anew.photos.chosen) == 3


def test_a_board_whose_photos_are_measured_again_meanwhile_is_passed_over_and_asked_for_later(house: House) -> None:
    board, checks = two_ends(house)
    check_again("ann", checks[0], Told("cleared"), house.ports)
    task = take(house)
    assert task.photos is None
    house.later(seconds=3)
    assert finish_job(task, measured(), house.ports)
    again = take(house)
    assert again.photos is not None
    assert again.board.id == board


def test_deleting_a_photo_leaves_nothing_to_put_together_and_no_picture_behind(house: House) -> None:
    board, checks = two_ends(house)
    assert finish_job(take(house), drawn(house), house.ports)
    delete_check("ann", checks[0], house.ports)
    left = together(house, board)
    assert left is not None
    assert left.answer is None
    assert len(house.stored()) == 1


@pytest.mark.parametrize("none_wanted", [False, True])
def test_deleting_the_board_takes_its_pictures_and_its_job_along(house: House, none_wanted: bool) -> None:
    board, _ = two_ends(house)
    assert finish_job(take(house), drawn(house), house.ports)
    if none_wanted:
        choose_photos("ann", board, [], house.ports)
    delete_board("ann", board, house.ports)
    assert house.stored() == set()
    assert take_job("w", 60.0, house.ports) is None


def test_a_deleted_account_takes_along_what_its_photos_made_together(house: House) -> None:
    two_ends(house)
    assert finish_job(take(house), drawn(house), house.ports)
    remove_person("ann", house.ports)
    assert house.stored() == set()


def test_somebody_says_which_photos_belong_together(house: House) -> None:
    board, checks = two_ends(house)
    house.send(b"three", board=board)
    assert finish_job(take(house), drawn(house), house.ports)
    house.later(seconds=3)
    house.answer(measured())
    after = choose_photos("ann", board, checks, house.ports)
    assert after is not None
    task = take(house)
    assert task.photos is not None
    assert [check.id for check in task.photos.chosen] == checks
    assert finish_job(task, drawn(house), house.ports)
    none = choose_photos("ann", board, checks[:1], house.ports)
    assert none is not None
    assert (none.state, none.answer) == ("ready", None)
    assert len(house.stored()) == 3  # the three photos, and no drawing any more


def test_choosing_the_same_photos_again_measures_nothing(house: House) -> None:
    board, checks = two_ends(house)
    assert finish_job(take(house), drawn(house), house.ports)
    choose_photos("ann", board, checks, house.ports)
    assert take_job("w", 60.0, house.ports) is None


def test_nobody_else_chooses(house: House) -> None:
    board, checks = two_ends(house)
    with pytest.raises(NotFoundError):
        choose_photos("ben", board, checks[:1], house.ports)


def test_photos_that_no_worker_can_put_together_are_given_up_and_keep_their_own_answers(house: House) -> None:
    board, _ = two_ends(house)
    for _ in range(MOST_ATTEMPTS):
        fail_job(take(house).job, refused(), house.ports)
    left = together(house, board)
    assert left is not None
    assert left.state == "failed"
    assert take_job("w", 60.0, house.ports) is None
    assert all(check.state == "measured" for check in look_at_board("ann", board, house.ports).checks)


def test_a_face_that_was_sent_as_an_end_is_measured_as_the_face_it_is(house: House) -> None:
    check = house.send(b"one")
    house.answer(refused())
    assert check_again("ann", check.id, Told(), house.ports, "show").view == "show"
    task = take(house)
    assert task.check.view == "show"


def test_a_photo_of_the_driven_joint_is_not_measured(house: House) -> None:
    check = house.send(b"one", view="fit")
    house.answer(Answer({}, {}))
    with pytest.raises(MistakeError, match="which face"):
        check_again("ann", check.id, Told(), house.ports)


def test_an_export_brings_back_what_the_photos_say_together(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    measure_one_board(monkeypatch)
    with open_house(tmp_path_factory.mktemp("house"), cleaning=True) as house:
        board = house.send(photo(1), name="good").board
        for number, view in ((2, "show"), (3, "transfer"), (4, "end")):
            house.send(photo(number), board=board, view=view)
        work(house)
        before = look_at_board("ann", board, house.ports)
        assert before.together is not None
        assert before.together.answer is not None
        data = "".join(export_json("ann", house.ports)).encode()
        delete_board("ann", board, house.ports)
        import_log("ann", io.BytesIO(data), house.ports)
        assert look_at_board("ann", board, house.ports) == before
        assert take_job("w", 60.0, house.ports) is None

        import_log("ben", io.BytesIO(data), house.ports)
        with house.ports.reading() as uow:
            bens = uow.boards.all_of("ben")[0]
        theirs = look_at_board("ben", bens.id, house.ports)
        assert theirs.together is not None
        assert theirs.together.answer is not None
        listed = theirs.together.answer.words["mm"]["photos"]
        assert [each["check"] for each in listed] == [check.id for check in theirs.checks]
        assert {check.id for check in theirs.checks}.isdisjoint(check.id for check in before.checks)


def test_a_damaged_record_of_them_is_refused(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    measure_one_board(monkeypatch)
    with open_house(tmp_path_factory.mktemp("house"), cleaning=True) as house:
        board = house.send(photo(1), name="good").board
        house.send(photo(2), board=board, view="show")
        work(house)
        data = json.loads("".join(export_json("ann", house.ports)))
        delete_board("ann", board, house.ports)
        data["boards"][0]["together"]["answer"]["words"]["mm"]["board"].pop("walls")
        with pytest.raises(MistakeError, match="damaged"):
            import_log("ann", io.BytesIO(json.dumps(data).encode()), house.ports)


def work(house: House) -> None:
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)


def test_the_stored_pictures_of_a_board_are_swept_by_nobody(house: House) -> None:
    board, _ = two_ends(house)
    answer = drawn(house)
    assert finish_job(take(house), answer, house.ports)
    with house.ports.reading() as uow:
        assert uow.checks.still_used(answer.pictures.names) == set(answer.pictures.names)
    assert StoredPhoto(answer.pictures.overlay, "JPEG").name in house.stored()
    assert together(house, board) is not None
