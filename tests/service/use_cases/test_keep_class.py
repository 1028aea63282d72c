"""Classes: made, shared, joined, left, deleted, and nothing left dangling."""

from __future__ import annotations

import pytest
from sqlalchemy import text as sql

from service.domain.mistakes import MistakeError, NotAllowedError, NotFoundError
from service.domain.person import Person
from service.use_cases.hand_in import hand_in, open_assignments
from service.use_cases.keep_class import (
    class_of_code,
    close_code,
    instructed_alone,
    join_class,
    leave_class,
    list_classes,
    look_at_membership,
    new_class,
    remove_class,
    rename_class,
    renew_code,
    share_class,
    show_all_boards,
    who_could_share,
)
from service.use_cases.set_work import change_assignment, close_assignment, remove_assignment
from service.use_cases.sign_in import invite, join, join_with_class, remove_person
from service.use_cases.solo import ensure_solo
from service.use_cases.who_may import board_to_see
from tests.service.house import House
from tests.service.use_cases.school import JUNO, KIT, MOSS, OLIVE, WREN, bench, hand_in_board, people, work

WORDS = "correct horse battery"


@pytest.fixture
def school(house: House) -> House:
    people(house)
    return house


def classes_of(house: House, person: Person) -> list[tuple[str, str]]:
    return [(classroom.name, membership.as_) for classroom, membership in list_classes(person, house.ports)]


def test_instructors_and_owners_make_classes_and_students_do_not(school: House) -> None:
    new_class(WREN, "  Monday   bench ", school.ports)
    new_class(OLIVE, "Shed", school.ports)
    with pytest.raises(NotAllowedError):
        new_class(JUNO, "Mine", school.ports)
    assert classes_of(school, WREN) == [("Monday bench", "instructor")]
    assert classes_of(school, OLIVE) == [("Shed", "instructor")]


def test_alone_at_home_there_are_no_classes(house: House) -> None:
    with pytest.raises(NotAllowedError):
        new_class(ensure_solo(house.ports), "Mine", house.ports)


def test_who_works_alone_is_let_into_no_class_that_a_log_has_from_before(school: House) -> None:
    solo, classroom = ensure_solo(school.ports), bench(school)
    join_class(solo, classroom.join_code, school.ports)
    assert classes_of(school, solo) == []


@pytest.mark.parametrize("name", ["", "  ", "x" * 81, "a\x00b"])
def test_a_class_needs_a_name_that_can_be_kept(school: House, name: str) -> None:
    with pytest.raises(MistakeError):
        new_class(WREN, name, school.ports)


def test_who_knows_the_code_joins_as_a_student_however_it_is_typed(school: House) -> None:
    classroom = bench(school)
    typed = classroom.join_code.replace("-", " ").upper()
    assert class_of_code(typed, school.ports) == classroom
    assert join_class(JUNO, typed, school.ports) == classroom
    assert classes_of(school, JUNO) == [("Monday bench", "student")]


def test_joining_twice_changes_nothing_and_an_instructor_stays_one(school: House) -> None:
    classroom = bench(school, JUNO)
    before = look_at_membership(JUNO, classroom.id, school.ports)
    school.later(days=1)
    join_class(JUNO, classroom.join_code, school.ports)
    join_class(WREN, classroom.join_code, school.ports)
    assert look_at_membership(JUNO, classroom.id, school.ports) == before
    assert classes_of(school, WREN) == [("Monday bench", "instructor")]


def test_a_renewed_code_replaces_the_old_one_and_a_closed_class_has_none(school: House) -> None:
    old = bench(school)
    renewed = renew_code(WREN, old.id, school.ports)
    assert renewed.join_code not in ("", old.join_code)
    with pytest.raises(NotFoundError):
        join_class(JUNO, old.join_code, school.ports)
    assert close_code(WREN, old.id, school.ports).join_code == ""
    for typed in (renewed.join_code, ""):
        with pytest.raises(NotFoundError):
            join_class(JUNO, typed, school.ports)
    close_code(WREN, new_class(WREN, "Another without a code", school.ports).id, school.ports)
    assert class_of_code(renew_code(WREN, old.id, school.ports).join_code, school.ports).id == old.id


def test_a_newcomer_gets_account_and_membership_at_once_or_neither(school: House) -> None:
    classroom = bench(school)
    with pytest.raises(NotFoundError):
        join_with_class("walnut-mallet-000", "Ivo", "ivo", WORDS, school.ports)
    with school.ports.reading() as uow:
        assert uow.accounts.with_login("ivo") is None
    join_with_class(classroom.join_code, "Ivo", "ivo", WORDS, school.ports)
    with school.ports.reading() as uow:
        account = uow.accounts.with_login("ivo")
        assert account is not None
        person = uow.people.get(account.person)
    assert person.role == "student"
    assert classes_of(school, person) == [("Monday bench", "student")]


def test_a_student_is_in_several_classes(school: House) -> None:
    first, second = bench(school, JUNO), new_class(MOSS, "Shed", school.ports)
    join_class(JUNO, second.join_code, school.ports)
    assert classes_of(school, JUNO) == [("Monday bench", "student"), ("Shed", "student")]
    leave_class(JUNO, first.id, JUNO.id, school.ports)
    assert classes_of(school, JUNO) == [("Shed", "student")]


def test_two_instructors_share_a_class_and_only_who_may_teach(school: House) -> None:
    classroom = bench(school, JUNO)
    with pytest.raises(NotFoundError):
        renew_code(MOSS, classroom.id, school.ports)
    with pytest.raises(MistakeError, match="no instructor"):
        share_class(WREN, classroom.id, KIT.id, school.ports)
    share_class(WREN, classroom.id, MOSS.id, school.ports)
    assert renew_code(MOSS, classroom.id, school.ports).id == classroom.id
    leave_class(MOSS, classroom.id, WREN.id, school.ports)
    with pytest.raises(MistakeError, match="last instructor"):
        leave_class(MOSS, classroom.id, MOSS.id, school.ports)


def test_who_can_be_asked_to_share_are_the_other_teachers_with_an_account(school: House) -> None:
    classroom = bench(school, JUNO)
    for role, name in (("instructor", "nora"), ("student", "stan"), ("owner", "otto")):
        join(invite(role, school.ports), name.title(), name, WORDS, school.ports)  # type: ignore[arg-type]
    assert [person.name for person in who_could_share(WREN, classroom.id, school.ports)] == ["Nora", "Otto"]


def test_students_run_nothing_and_take_nobody_out_but_themselves(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    for attempt in (
        lambda: rename_class(JUNO, classroom.id, "Mine", school.ports),
        lambda: renew_code(JUNO, classroom.id, school.ports),
        lambda: close_code(JUNO, classroom.id, school.ports),
        lambda: remove_class(JUNO, classroom.id, school.ports),
        lambda: share_class(JUNO, classroom.id, MOSS.id, school.ports),
        lambda: who_could_share(JUNO, classroom.id, school.ports),
        lambda: leave_class(JUNO, classroom.id, KIT.id, school.ports),
        lambda: show_all_boards(WREN, classroom.id, True, school.ports),
        lambda: leave_class(WREN, classroom.id, MOSS.id, school.ports),
    ):
        with pytest.raises(NotFoundError):
            attempt()
    assert look_at_membership(WREN, classroom.id, school.ports)[0] == classroom


def test_who_leaves_takes_their_boards_along_with_the_title(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    junos = hand_in_board(school, JUNO, assignment.id, b"one")
    kits = hand_in_board(school, KIT, assignment.id, b"two")
    leave_class(WREN, classroom.id, JUNO.id, school.ports)
    join_class(JUNO, classroom.join_code, school.ports)  # coming back shows nothing by itself
    with school.ports.reading() as uow:
        assert (uow.boards.get(junos.id).assignment, uow.boards.get(junos.id).assignment_title) == ("", "Three tails")
        assert uow.handed_in.counts(classroom.id) == {assignment.id: (1, 1)}
        assert uow.handed_in.latest([assignment.id])[assignment.id].keys() == {KIT.id}
        assert board_to_see(kits.id, WREN, uow).id == kits.id
        with pytest.raises(NotFoundError):
            board_to_see(junos.id, WREN, uow)


def test_a_deleted_class_leaves_students_their_boards_and_nothing_dangling(school: House) -> None:
    classroom = bench(school, JUNO)
    assignment = work(school, classroom)
    board = hand_in_board(school, JUNO, assignment.id, b"one")
    remove_class(WREN, classroom.id, school.ports)
    assert (classes_of(school, WREN), classes_of(school, JUNO)) == ([], [])
    with school.ports.reading() as uow:
        kept = uow.boards.get(board.id)
        measures = uow.measures.of_board(board.id)
    assert (kept.assignment, kept.assignment_title) == ("", "Three tails")
    assert measures is not None
    assert measures.assignment == ""
    assert rows(school) == {"classrooms": 0, "memberships": 0, "assignments": 0, "boards": 1, "measures": 1}
    with school.engine.connect() as connection:
        held = connection.execute(sql("SELECT count(*) FROM boards WHERE classroom_id IS NOT NULL")).scalar()
    assert held == 0


def test_a_deleted_assignment_leaves_the_boards_its_title(school: House) -> None:
    classroom = bench(school, JUNO)
    assignment = work(school, classroom)
    board = hand_in_board(school, JUNO, assignment.id, b"one")
    assert remove_assignment(WREN, assignment.id, school.ports) == classroom.id
    with school.ports.reading() as uow:
        assert uow.boards.get(board.id).assignment_title == "Three tails"
        assert list(uow.handed_in.of_class(classroom.id)) == []


def test_a_deleted_account_takes_boards_numbers_and_memberships_along(school: House) -> None:
    classroom = bench(school, JUNO)
    hand_in_board(school, JUNO, work(school, classroom).id, b"one")
    remove_person(JUNO.id, school.ports)
    assert rows(school) == {"classrooms": 1, "memberships": 1, "assignments": 1, "boards": 0, "measures": 0}
    assert school.stored() == set()


def test_the_last_instructor_leaves_no_class_behind_unless_an_owner_takes_it(school: House) -> None:
    classroom = bench(school, JUNO)
    for heir in ("", WREN.id):
        with pytest.raises(MistakeError, match="Nobody else instructs the class Monday bench"):
            remove_person(WREN.id, school.ports, heir=heir)
    with school.ports.reading() as uow:
        assert instructed_alone(uow, WREN.id) == [classroom]
    remove_person(WREN.id, school.ports, heir=OLIVE.id)
    assert classes_of(school, OLIVE) == [("Monday bench", "instructor")]
    share_class(OLIVE, classroom.id, MOSS.id, school.ports)
    remove_person(MOSS.id, school.ports)
    assert classes_of(school, OLIVE) == [("Monday bench", "instructor")]


def test_who_takes_a_class_over_judges_no_board_that_they_handed_in_as_its_student(school: House) -> None:
    classroom = bench(school, OLIVE)
    board = hand_in_board(school, OLIVE, work(school, classroom).id, b"one")
    remove_person(WREN.id, school.ports, heir=OLIVE.id)
    with school.ports.reading() as uow:
        assert list(uow.handed_in.of_class(classroom.id)) == []
        assert uow.boards.get(board.id).assignment_title == "Three tails"


def test_assignments_are_set_changed_and_closed_by_instructors_alone(school: House) -> None:
    classroom = bench(school, JUNO)
    assignment = work(school, classroom)
    for attempt in (
        lambda: change_assignment(JUNO, assignment, school.ports),
        lambda: close_assignment(MOSS, assignment.id, True, school.ports),
        lambda: remove_assignment(JUNO, assignment.id, school.ports),
    ):
        with pytest.raises(NotFoundError):
            attempt()
    close_assignment(WREN, assignment.id, True, school.ports)
    assert open_assignments(JUNO, school.ports).choices == []
    with pytest.raises(NotFoundError):
        school.send(b"one", JUNO.id, assignment=assignment.id)


def test_handing_in_is_for_students_of_the_class_and_for_ones_own_boards(school: House) -> None:
    assignment = work(school, bench(school, JUNO))
    junos, kits = school.send(b"one", JUNO.id).board, school.send(b"two", KIT.id).board
    for person, board in ((KIT, kits), (KIT, junos), (WREN, junos)):
        with pytest.raises(NotFoundError):
            hand_in(person, board, assignment.id, school.ports)
    assert hand_in(JUNO, junos, assignment.id, school.ports).assignment == assignment.id


def rows(house: House) -> dict[str, int | None]:
    names = ("classrooms", "memberships", "assignments", "boards", "measures")
    with house.engine.connect() as connection:
        return {name: connection.execute(sql(f"SELECT count(*) FROM {name}")).scalar() for name in names}
