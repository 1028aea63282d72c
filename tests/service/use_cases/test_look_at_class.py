"""A class at a glance, one assignment, and both exported; from the numbers kept of each board."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.class_record import COLUMNS
from service.domain.mistakes import NotFoundError
from service.use_cases.export_class import export_class_csv, export_class_json
from service.use_cases.keep_class import share_class
from service.use_cases.look_at_class import (
    LAST_BOARDS,
    class_progress,
    look_at_class,
    look_at_work,
    members_of,
    work_of_class,
)
from service.use_cases.review_board import Judgement, review_board
from tests.service.house import House, refused
from tests.service.use_cases.school import JUNO, KIT, MOSS, OLIVE, WREN, bench, hand_in_board, people, work


@pytest.fixture
def school(house: House) -> House:
    people(house)
    return house


def term(house: House, assignment: str) -> None:
    """Twelve boards each, one a day: Juno's lean less and less to nothing, Kit's stay as they are."""
    for number in range(12):
        lean = {JUNO: 0.02 if number >= 6 else 1.0, KIT: 1.0}
        for person in (JUNO, KIT):
            hand_in_board(house, person, assignment, f"{person.id} {number}".encode(), lean[person])
        house.later(days=1)


def test_an_instructor_sees_who_improves_who_is_stuck_and_the_last_boards(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    term(school, assignment.id)
    view = look_at_class(WREN, classroom.id, school.ports)
    assert [(each.person.id, each.standing.word) for each in view.students] == [("kit", "stuck"), ("juno", "improving")]
    assert view.sentences[:2] == ["Stuck: Student Kit Larch.", "Improving: Student Juno Larchmere."]
    for student in view.students:
        days = [board.created for board in student.boards]
        assert len(days) == LAST_BOARDS
        assert days == sorted(days, reverse=True)
        assert {board.person for board in student.boards} == {student.person.id}


def test_assignments_come_with_their_numbers_and_how_they_came_out(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    first = work(school, classroom, "First")
    school.later(days=1)
    second = work(school, classroom, "Second")
    for number, person in enumerate((JUNO, JUNO, KIT)):
        hand_in_board(school, person, first.id, bytes([number]), lean=1.0 + number)
        school.later(minutes=1)
    told = {each.assignment.title: each for each in look_at_class(WREN, classroom.id, school.ports).work}
    assert list(told) == ["Second", "First"]
    assert (told["First"].boards, told["First"].people) == (3, 2)
    assert (told["Second"].boards, told["Second"].people, told["Second"].outcome) == (0, 0, None)
    outcome = told["First"].outcome
    assert outcome is not None
    assert outcome.values["kit"] == pytest.approx(1.5 * outcome.values["juno"], rel=1e-9)  # 3 times against 2 times
    assert second.title == "Second"


def test_a_fault_that_both_have_is_the_classes_this_week_and_no_longer_a_week_later(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    for person in (JUNO, KIT):
        hand_in_board(school, person, assignment.id, person.id.encode())
    fault = look_at_class(WREN, classroom.id, school.ports).fault
    assert fault is None  # of three left walls of the usual board only one leans to either side
    for person in (JUNO, KIT):
        _lean_all_left_walls(school, person.id)
    fault = look_at_class(WREN, classroom.id, school.ports).fault
    assert fault is not None
    assert (fault.side, fault.way, fault.having, fault.people) == ("left", "right", 2, 2)
    school.later(days=7)
    assert look_at_class(WREN, classroom.id, school.ports).fault is None


def _lean_all_left_walls(house: House, person: str) -> None:
    with house.ports.unit_of_work() as uow:
        for measures in uow.measures.of_person(person):
            uow.measures.put(replace(measures, left_to_right=measures.left_walls))
        uow.commit()


def test_a_student_sees_the_work_and_their_own_boards_alone(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    own = hand_in_board(school, JUNO, assignment.id, b"one")
    hand_in_board(school, KIT, assignment.id, b"two")
    view = look_at_class(JUNO, classroom.id, school.ports)
    assert (view.students, view.sentences, view.fault) == ((), (), None)
    assert view.own is not None
    assert [board.id for board in view.own[assignment.id]] == [own.id]
    seen = look_at_work(JUNO, assignment.id, school.ports, student=KIT.id)
    assert [each.person.id for each in seen.handed_in] == ["juno"]
    assert (seen.missing, seen.outcome, seen.runs) == ((), None, False)
    assert work_of_class(JUNO, classroom.id, school.ports) == [assignment]
    for look in (class_progress, members_of):
        with pytest.raises(NotFoundError):
            look(JUNO, classroom.id, school.ports)


def test_an_assignments_page_has_everybodys_latest_boards_or_all_of_one_student(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    for number in range(LAST_BOARDS + 2):
        hand_in_board(school, JUNO, assignment.id, bytes([number]))
        school.later(minutes=1)
    view = look_at_work(WREN, assignment.id, school.ports)
    (junos,) = view.handed_in
    assert (len(junos.boards), junos.total) == (LAST_BOARDS, LAST_BOARDS + 2)
    assert [person.id for person in view.missing] == ["kit"]
    (all_of,) = look_at_work(WREN, assignment.id, school.ports, student=JUNO.id).handed_in
    assert len(all_of.boards) == LAST_BOARDS + 2
    assert look_at_work(WREN, assignment.id, school.ports, student="moss").handed_in == []


def test_others_see_nothing_not_even_the_owner(school: House) -> None:
    classroom = bench(school, JUNO)
    assignment = work(school, classroom)
    for person in (MOSS, KIT, OLIVE):
        for attempt in (
            lambda asking: look_at_class(asking, classroom.id, school.ports),
            lambda asking: look_at_work(asking, assignment.id, school.ports),
            lambda asking: work_of_class(asking, classroom.id, school.ports),
            lambda asking: members_of(asking, classroom.id, school.ports),
            lambda asking: export_class_csv(asking, classroom.id, school.ports),
            lambda asking: export_class_json(asking, classroom.id, school.ports),
        ):
            with pytest.raises(NotFoundError):
                attempt(person)
    share_class(WREN, classroom.id, MOSS.id, school.ports)
    assert look_at_class(MOSS, classroom.id, school.ports).runs


def test_the_table_has_a_row_for_every_board_with_its_numbers(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom, "=SUM(A1)", due=date(2026, 3, 2), species="maple")
    board = hand_in_board(school, JUNO, assignment.id, b"one")
    review_board(WREN, board.id, Judgement("pare"), school.ports)
    school.later(days=1)
    school.send(b"two", KIT.id, name="Late one", assignment=assignment.id)
    school.answer(refused())
    rows = list(csv.DictReader(io.StringIO("".join(export_class_csv(WREN, classroom.id, school.ports)))))
    assert list(rows[0]) == COLUMNS
    assert [(row["student"], row["late"], row["standing"]) for row in rows] == [
        ("Student Juno Larchmere", "no", "start over"),
        ("Student Kit Larch", "yes", "refused"),
    ]
    assert [(row["decision"], row["decided"][:10]) for row in rows] == [("pare", "2026-03-02"), ("", "")]
    assert float(rows[0]["abs_lean_deg"]) > 0.0
    assert rows[1]["abs_lean_deg"] == ""
    assert rows[0]["assignment"] == "'=SUM(A1)"  # no spreadsheet takes it for a formula


def test_the_json_holds_people_work_and_boards_and_no_join_code(school: House) -> None:
    classroom = bench(school, JUNO)
    assignment = work(school, classroom)
    board = hand_in_board(school, JUNO, assignment.id, b"one")
    text = "".join(export_class_json(WREN, classroom.id, school.ports))
    told = json.loads(text)
    assert (told["format"], told["version"], told["class"]["name"]) == ("tailproof-class", 1, "Monday bench")
    assert {member["name"]: member["as"] for member in told["members"]} == {
        "Instructor Wren Alder": "instructor",
        "Student Juno Larchmere": "student",
    }
    assert told["assignments"][0]["policy"]["gap_mm"] == 0.1
    assert told["boards"][0]["id"] == board.id
    assert told["boards"][0]["numbers"]["sockets"] == 4
    assert classroom.join_code not in text


def test_an_empty_class_is_a_class(school: House) -> None:
    classroom = bench(school)
    view = look_at_class(WREN, classroom.id, school.ports)
    assert (list(view.students), list(view.work)) == ([], [])
    assert "".join(export_class_csv(WREN, classroom.id, school.ports)).strip() == ",".join(COLUMNS)
    assert json.loads("".join(export_class_json(WREN, classroom.id, school.ports)))["boards"] == []


def test_boards_begun_within_the_week_are_counted_by_the_day(school: House) -> None:
    classroom = bench(school, JUNO)
    hand_in_board(school, JUNO, work(school, classroom).id, b"one")
    with school.ports.reading() as uow:
        for days, found in ((0, 1), (1, 0)):
            since = school.clock[0] + timedelta(days=days)
            assert len(uow.handed_in.since(classroom.id, [JUNO.id], since).get(JUNO.id, ())) == found
