"""A second opinion: who may give it, what stands by it, how it ends, and that nothing of the original is lost."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from service.domain.assignment import Assignment
from service.domain.board import Details
from service.domain.check import Check, StoredPhoto
from service.domain.classroom import Classroom, Membership
from service.domain.correction import Correction
from service.domain.mistakes import MistakeError, NotAllowedError, NotFoundError
from service.domain.person import Person
from service.domain.wall_line import WallLine
from service.jobs.given_up import gave_up
from service.jobs.measuring import Bench, measure
from service.use_cases.answer_job import fail_job, finish_job, take_job
from service.use_cases.correct_walls import (
    correct_walls,
    look_at_corrections,
    look_at_walls,
    may_correct,
    withdraw_correction,
)
from service.use_cases.export_log import export_csv, export_json
from service.use_cases.import_log import import_log
from service.use_cases.keep_log import (
    change_board,
    check_again,
    delete_board,
    look_at_board,
    look_at_check,
    who_is,
)
from service.use_cases.print_log import board_to_print
from service.use_cases.sign_in import remove_person
from tests.service.house import BEGIN, House, open_house
from tests.service.web.site import photo
from tests.vision.photos import PX_PER_MM

pytestmark = pytest.mark.usefixtures("core")

BY_PX = 6.0
WREN = Person("wren", "Instructor Wren Alder", "instructor")


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """Ann is a student of Wren's, who instructs her class; Ben is in no class."""
    with open_house(tmp_path, cleaning=True) as house:
        with house.ports.unit_of_work() as uow:
            uow.people.add(WREN)
            uow.people.put(replace(uow.people.get("ann"), role="student"))
            uow.classes.add(Classroom("c1", "Joinery", "join", BEGIN))
            uow.classes.put_member(Membership("c1", "ann", "student", BEGIN))
            uow.classes.put_member(Membership("c1", "wren", "instructor", BEGIN))
            uow.assignments.add(Assignment("a1", "c1", "First box", BEGIN))
            uow.commit()
        yield house


def work(house: House) -> None:
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)


@pytest.fixture
def check(house: House) -> Check:
    """Ann's measured board, handed in to Wren's class."""
    sent = house.send(photo(1), name="good", assignment="a1")
    work(house)
    return look_at_check("ann", sent.id, house.ports)


def moved(house: House, check: Check, index: int = 3, by_px: float = BY_PX) -> list[WallLine]:
    """The photo's lines, one of them moved at its show face."""
    lines = list(look_at_walls(check.person, check.id, house.ports).lines)
    x, y = lines[index].show_px
    lines[index] = WallLine((x + by_px, y), lines[index].transfer_px, 5.0)
    return lines


def correct(house: House, check: Check, person: str = "wren", **how: float) -> Check:
    correct_walls(person, check.id, moved(house, check, **how), "a knife line", house.ports)  # type: ignore[arg-type]
    work(house)
    return look_at_check("ann", check.id, house.ports)


def corrections(house: House, check: Check) -> list[Correction]:
    return list(look_at_corrections("ann", check.id, house.ports))


def test_a_photo_whose_file_was_lost_is_not_corrected_and_keeps_its_answer(house: House, check: Check) -> None:
    lines, lost = moved(house, check), replace(check, photo=StoredPhoto("", "JPEG"))
    with house.ports.unit_of_work() as uow:
        uow.checks.put(lost)
        uow.commit()
    with pytest.raises(MistakeError, match="file of this photo was lost"):
        correct_walls("wren", check.id, lines, "", house.ports)
    assert look_at_check("ann", check.id, house.ports) == lost


def test_the_original_of_a_lost_photo_stands_again_though_its_wood_has_changed(house: House, check: Check) -> None:
    corrected = correct(house, check)
    with house.ports.unit_of_work() as uow:
        uow.checks.put(replace(corrected, photo=StoredPhoto("", "JPEG"), original_outdated=True))
        uow.commit()
    assert withdraw_correction("wren", check.id, house.ports).answer == check.answer
    assert look_at_check("ann", check.id, house.ports).state == "measured"


def test_the_board_stands_by_the_corrected_answer_and_the_original_is_kept(house: House, check: Check) -> None:
    after = correct(house, check)
    assert after.corrected
    assert after.original == check.answer
    assert check.answer is not None
    assert after.answer is not None
    before_mm, now_mm = (answer.result["walls"][3]["x_show_mm"] for answer in (check.answer, after.answer))
    assert now_mm - before_mm == pytest.approx(BY_PX / PX_PER_MM, abs=1e-3)  # the made-up photo's one scale, rounded
    assert [each["tail"] for each in after.answer.result["corrected"]] == [1]
    board = look_at_board("ann", check.board, house.ports).board
    assert (board.standing, board.corrected) == (after.advice, True)
    assert after.answer.pictures.overlay != check.answer.pictures.overlay


def test_the_correction_says_who_when_and_why(house: House, check: Check) -> None:
    house.later(days=1)
    correct(house, check)
    (made,) = corrections(house, check)
    assert (made.person, made.name, made.made_at) == ("wren", WREN.name, house.clock[0])
    assert (made.why, made.state) == ("a knife line", "standing")
    assert [line.placed for line in made.walls] == [False, False, False, True, False, False]


def test_while_it_is_measured_the_board_waits_and_nothing_else_can_be_asked_of_it(house: House, check: Check) -> None:
    correct_walls("wren", check.id, moved(house, check), "", house.ports)
    assert look_at_board("ann", check.board, house.ports).board.standing == "waiting"
    others = [WallLine((1.0, 1.0), (1.0, 300.0)), WallLine((2.0, 1.0), (2.0, 300.0))]
    for act in (
        lambda: withdraw_correction("wren", check.id, house.ports),
        lambda: correct_walls("wren", check.id, others, "", house.ports),
    ):
        with pytest.raises(MistakeError, match="still being measured"):
            act()


def test_a_withdrawn_correction_leaves_the_check_as_it_was_and_stays_in_the_history(house: House, check: Check) -> None:
    stored = house.stored()
    correct(house, check)
    withdraw_correction("wren", check.id, house.ports)
    assert look_at_check("ann", check.id, house.ports) == check
    assert house.stored() == stored
    (made,) = corrections(house, check)
    assert (made.state, made.ended_name) == ("withdrawn", WREN.name)
    assert not look_at_board("ann", check.board, house.ports).board.corrected
    with pytest.raises(MistakeError, match="own answer stands"):
        withdraw_correction("wren", check.id, house.ports)


def test_a_later_correction_replaces_the_earlier_one_beside_the_same_original(house: House, check: Check) -> None:
    correct(house, check)
    after = correct(house, check, index=2)
    assert after.original == check.answer
    assert [line.placed for line in after.told.walls] == [False, False, True, True, False, False]
    assert [made.state for made in corrections(house, check)] == ["replaced", "standing"]


def test_lines_that_cannot_be_used_leave_the_original_standing_and_say_why(house: House, check: Check) -> None:
    lines = moved(house, check)
    lines[0] = WallLine((0.0, 100.0), (0.0, 300.0), 2.0)
    correct_walls("wren", check.id, lines, "", house.ports)
    work(house)
    assert look_at_check("ann", check.id, house.ports) == check
    (made,) = corrections(house, check)
    assert made.state == "unusable"
    assert "do not make up whole tails" in made.said


def test_a_correction_that_kills_its_workers_leaves_the_original_standing(house: House, check: Check) -> None:
    correct_walls("wren", check.id, moved(house, check), "", house.ports)
    for _ in range(3):
        task = take_job("w", 60.0, house.ports)
        assert task is not None
        fail_job(task.job, gave_up(), house.ports)
    assert look_at_check("ann", check.id, house.ports) == check
    assert corrections(house, check)[0].state == "unusable"


def test_another_wood_is_measured_by_the_corrected_lines_and_a_withdrawal_measures_the_original_anew(
    house: House, check: Check
) -> None:
    correct(house, check)
    change_board("ann", check.board, "good", Details("cherry"), house.ports)
    work(house)
    after = look_at_check("ann", check.id, house.ports)
    assert after.corrected
    assert after.original_outdated
    assert after.answer is not None
    assert {socket["squeeze_limit_mm"] for socket in after.answer.result["sockets"]} == {0.08, 0.04}  # a hardwood's
    withdraw_correction("wren", check.id, house.ports)
    assert look_at_check("ann", check.id, house.ports).state == "waiting"
    work(house)
    anew = look_at_check("ann", check.id, house.ports)
    assert not anew.corrected
    assert anew.answer is not None
    assert "corrected" not in anew.answer.result
    assert {socket["squeeze_limit_mm"] for socket in anew.answer.result["sockets"]} == {0.08, 0.04}


def test_another_wood_while_the_correction_is_measured_outdates_the_original_all_the_same(
    house: House, check: Check
) -> None:
    correct_walls("wren", check.id, moved(house, check), "", house.ports)
    change_board("ann", check.board, "good", Details("cherry"), house.ports)
    work(house)
    withdraw_correction("wren", check.id, house.ports)
    work(house)
    anew = look_at_check("ann", check.id, house.ports)
    assert (anew.state, anew.corrected) == ("measured", False)
    assert anew.answer is not None
    assert {socket["squeeze_limit_mm"] for socket in anew.answer.result["sockets"]} == {0.08, 0.04}  # a hardwood's


def test_measuring_again_with_other_settings_asks_for_the_withdrawal_first(house: House, check: Check) -> None:
    after = correct(house, check)
    with pytest.raises(MistakeError, match="Withdraw the correction first"):
        check_again("ann", check.id, after.told, house.ports)


def test_the_owner_and_the_classs_instructor_may_correct_and_nobody_else(house: House, check: Check) -> None:
    assert may_correct("ann", check.id, house.ports)
    assert may_correct("wren", check.id, house.ports)
    assert not may_correct("ben", check.id, house.ports)
    for act in (
        lambda: look_at_walls("ben", check.id, house.ports),
        lambda: look_at_corrections("ben", check.id, house.ports),
        lambda: correct_walls("ben", check.id, [], "", house.ports),
        lambda: withdraw_correction("ben", check.id, house.ports),
    ):
        with pytest.raises(NotFoundError):
            act()


def test_a_student_cannot_take_back_what_the_instructor_corrected_but_the_other_way_round(
    house: House, check: Check
) -> None:
    correct(house, check)
    assert not may_correct("ann", check.id, house.ports)
    with pytest.raises(NotAllowedError):
        withdraw_correction("ann", check.id, house.ports)
    with pytest.raises(NotAllowedError):
        correct_walls("ann", check.id, moved(house, check), "", house.ports)
    withdraw_correction("wren", check.id, house.ports)
    correct(house, check, "ann")
    assert may_correct("ann", check.id, house.ports)
    withdraw_correction("wren", check.id, house.ports)
    assert look_at_check("ann", check.id, house.ports) == check


def test_only_a_measured_photo_has_lines_to_correct(house: House) -> None:
    sent = house.send(photo(2), name="cardless")
    work(house)
    with pytest.raises(MistakeError, match="does not tell where its lines are"):
        correct_walls("ann", sent.id, [], "", house.ports)


def test_deleting_the_board_leaves_no_file_behind(house: House, check: Check) -> None:
    correct(house, check)
    delete_board("ann", check.board, house.ports)
    assert house.stored() == set()


def test_who_left_is_named_no_more_and_what_they_corrected_stays(house: House, check: Check) -> None:
    correct(house, check)
    remove_person("wren", house.ports, heir="ben")
    (made,) = corrections(house, check)
    assert (made.person, made.name, made.state) == ("", "", "standing")
    printed = board_to_print(who_is("ann", house.ports), check.board, house.ports)
    assert printed.said.corrected == "Walls corrected by an instructor who has left on 2 Mar 2026: a knife line"


def test_an_export_restores_corrections_originals_and_their_pictures(house: House, check: Check) -> None:
    correct(house, check)
    correct(house, check, index=2)
    house.later(days=1)
    before, data = look_at_board("ann", check.board, house.ports), "".join(export_json("ann", house.ports)).encode()
    files = {name: house.ports.photos.read(name) for name in house.stored()}
    delete_board("ann", check.board, house.ports)
    import_log("ann", io.BytesIO(data), house.ports)
    after = look_at_board("ann", check.board, house.ports)
    assert after.checks == before.checks
    assert {name: house.ports.photos.read(name) for name in house.stored()} == files
    nameless = [replace(made, person="", ended_by="") for made in before.corrections]
    assert list(after.corrections) == nameless  # whoever brings a name may have written it
    assert after.board.corrected


@pytest.mark.parametrize("who", ["wren", "ann"])
def test_a_log_brought_by_another_person_has_corrections_of_its_own(house: House, check: Check, who: str) -> None:
    correct(house, check, who)
    own = look_at_board("ann", check.board, house.ports)
    import_log("ben", io.BytesIO("".join(export_json("ann", house.ports)).encode()), house.ports)
    with house.ports.reading() as uow:
        (bens,) = uow.boards.all_of("ben")
    brought = look_at_board("ben", bens.id, house.ports)
    assert brought.board.corrected
    ((mine,), (theirs,)) = own.corrections, brought.corrections
    assert theirs == replace(mine, id=theirs.id, check=brought.checks[0].id, person="", ended_by="")
    assert theirs.id != mine.id
    assert look_at_board("ann", check.board, house.ports) == own


def test_no_correction_is_brought_from_a_time_to_come(house: House, check: Check) -> None:
    correct(house, check)
    export = json.loads("".join(export_json("ann", house.ports)))
    delete_board("ann", check.board, house.ports)
    export["boards"][0]["corrections"][0]["made_at"] = "2999-01-01T00:00:00+00:00"
    import_log("ann", io.BytesIO(json.dumps(export).encode()), house.ports)
    assert [made.made_at for made in look_at_board("ann", check.board, house.ports).corrections] == house.clock


def test_an_import_cannot_claim_a_correction_that_does_not_fit_its_photo(house: House, check: Check) -> None:
    correct(house, check)
    data = "".join(export_json("ann", house.ports))
    delete_board("ann", check.board, house.ports)
    for damaged in (
        data.replace('"state": "standing"', '"state": "withdrawn"'),
        data.replace('"original": {"result"', '"unknown": {"result"'),
    ):
        assert damaged != data
        with pytest.raises(MistakeError, match="is damaged"):
            import_log("ann", io.BytesIO(damaged.encode()), house.ports)


def test_the_table_of_measurements_says_that_walls_were_corrected(house: House, check: Check) -> None:
    house.send(photo(3), name="good too")
    work(house)
    correct(house, check)
    rows = csv.DictReader(io.StringIO("".join(export_csv("ann", house.ports))))
    told = {(row["name"], row["corrected"]) for row in rows if row["what"] != "correction"}
    assert told == {("good", "by hand"), ("good too", "")}
