"""Jobs are worked off once, whatever workers die, and a photo that kills them is given up with a word."""

from __future__ import annotations

from dataclasses import replace

from service.domain.check import Told
from service.domain.job import MOST_ATTEMPTS
from service.jobs.given_up import gave_up
from service.use_cases.answer_job import fail_job, finish_job, release_jobs, take_job
from service.use_cases.forget_photos import sweep_photos
from service.use_cases.keep_log import check_again, delete_board, look_at_board, look_at_check
from tests.service.house import House, measured, refused
from tests.service.use_cases.school import measured_end


def waiting(house: House) -> int:
    with house.ports.reading() as uow:
        return uow.jobs.waiting()


def test_an_answer_ends_its_job_and_brings_the_board_up_to_date(house: House) -> None:
    check = house.send(b"one")
    house.later(seconds=3)
    house.answer(measured("pare", "small.jpg"))
    view = look_at_board("ann", check.board, house.ports)
    assert (view.board.standing, view.board.thumbnail) == ("pare", "small.jpg")
    assert view.checks[0].answer is not None
    assert view.checks[0].answer.answered_at == house.clock[0]
    assert take_job("w", 60.0, house.ports) is None


def test_a_refusal_is_an_answer_too(house: House) -> None:
    check = house.send(b"one")
    house.answer(refused())
    assert look_at_check("ann", check.id, house.ports).state == "refused"


def test_a_face_is_kept_and_never_measured(house: House) -> None:
    check = house.send(b"one", view="face")
    house.answer(replace(measured(), result={}))
    assert look_at_check("ann", check.id, house.ports).state == "kept"


def test_a_job_is_held_by_one_worker_at_a_time_in_the_order_they_came(house: House) -> None:
    sent = []
    for number in range(3):
        sent.append(house.send(bytes([number])).id)
        house.later(seconds=1)
    taken = [take_job(f"w{number}", 60.0, house.ports) for number in range(4)]
    assert [each.check.id for each in taken if each] == sent
    assert taken[3] is None


def test_a_worker_whose_lease_ran_out_cannot_answer_any_more(house: House) -> None:
    house.send(b"one")
    late = take_job("slow", 60.0, house.ports)
    house.later(seconds=61)
    other = take_job("quick", 60.0, house.ports)
    assert late is not None
    assert other is not None
    assert finish_job(other, measured("transfer"), house.ports)
    assert not finish_job(late, measured("start over"), house.ports)
    assert look_at_check("ann", other.check.id, house.ports).advice == "transfer"


def give_up(house: House) -> None:
    for _ in range(MOST_ATTEMPTS):
        held = take_job("w", 60.0, house.ports)
        assert held is not None
        fail_job(held.job, gave_up(), house.ports)


def test_a_photo_that_fails_every_time_is_given_up_and_said_so(house: House) -> None:
    check = house.send(b"one")
    give_up(house)
    found = look_at_check("ann", check.id, house.ports)
    assert found.state == "failed"
    assert found.answer is not None
    assert "tried several times" in found.answer.words["mm"]["message"]
    assert waiting(house) == 0
    assert house.ports.photos.read(check.photo.name) == b"one"


def test_a_photo_that_is_given_up_when_measured_again_keeps_its_pictures(house: House) -> None:
    check = house.send(b"one")
    thumbnail = house.ports.photos.put(b"small", "JPEG").name
    house.answer(measured(thumbnail=thumbnail))
    check_again("ann", check.id, Told("cleared"), house.ports)
    give_up(house)
    found = look_at_check("ann", check.id, house.ports)
    assert found.state == "failed"
    assert found.answer is not None
    assert found.answer.pictures.thumbnail == thumbnail
    assert sweep_photos(-1.0, house.ports) == 0


def test_a_board_that_is_measured_no_longer_leaves_lists_and_charts(house: House) -> None:
    check = house.send(b"one")
    kept = []
    for answer in (measured_end(), refused(), measured_end()):
        house.answer(answer)
        with house.ports.reading() as uow:
            kept.append((uow.measures.of_board(check.board), uow.log_numbers.of_board(check.board)))
        check_again("ann", check.id, Told(), house.ports)
    assert [[each is not None for each in both] for both in kept] == [[True, True], [False, False], [True, True]]


def test_jobs_of_dead_workers_wait_again_and_others_stay_where_they_are(house: House) -> None:
    for number in range(3):
        house.send(bytes([number]))
    for worker in ("here/0", "here/1", "there/0"):
        assert take_job(worker, 60.0, house.ports)
    assert release_jobs("here/", gave_up(), house.ports) == 2
    taken = [take_job("here/0", 60.0, house.ports) for _ in range(3)]
    assert [each.job.attempts for each in taken if each] == [2, 2]


def test_a_stop_that_the_photo_is_not_to_blame_for_costs_it_no_attempt(house: House) -> None:
    house.send(b"one")
    for _ in range(MOST_ATTEMPTS + 2):
        held = take_job("w/0", 60.0, house.ports)
        assert held is not None
        assert held.job.attempts == 1
        release_jobs("w/", gave_up(), house.ports, blamed=False)


def test_an_answer_to_a_board_that_was_deleted_meanwhile_is_dropped(house: House) -> None:
    check = house.send(b"one")
    held = take_job("w", 60.0, house.ports)
    assert held is not None
    delete_board("ann", check.board, house.ports)
    assert not finish_job(held, measured(), house.ports)
    assert house.stored() == set()
