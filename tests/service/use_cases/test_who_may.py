"""Whose boards somebody may see, change and review."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.domain.assignment import Assignment
from service.domain.classroom import As, Classroom, Membership
from service.domain.mistakes import NotFoundError
from service.domain.person import Person, Role
from service.use_cases.solo import ensure_solo
from service.use_cases.who_may import (
    assignment_to_hand_in_to,
    assignment_to_run,
    assignment_to_see,
    board_to_change,
    board_to_review,
    board_to_see,
    check_to_change,
    check_to_see,
    class_to_run,
    class_to_see,
    shown_by_students,
    students_of,
)
from tests.service.house import BEGIN, House

PEOPLE: dict[str, Role] = {
    "wren": "instructor",
    "moss": "instructor",
    "juno": "student",
    "kit": "student",
    "olive": "owner",
}
"""Wren instructs the bench, Moss the shed; Juno is a student of both, Kit of the shed; Olive owns the service."""
IN: tuple[tuple[str, str, As], ...] = (
    ("bench", "wren", "instructor"),
    ("bench", "juno", "student"),
    ("shed", "moss", "instructor"),
    ("shed", "juno", "student"),
    ("shed", "kit", "student"),
)


def person(name: str) -> Person:
    return Person(name, name.title(), PEOPLE[name])


@pytest.fixture
def school(house: House) -> House:
    """Juno's boards: `handed` in to the bench, `other` in to the shed, `own` to nobody; Kit's `kits` to nobody."""
    with house.ports.unit_of_work() as uow:
        for name in PEOPLE:
            uow.people.add(person(name))
        for name in ("bench", "shed"):
            uow.classes.add(Classroom(name, name, f"oak-{name}-100", BEGIN))
            uow.assignments.add(Assignment(f"box-{name}", name, "Box", BEGIN))
        for classroom, who, as_ in IN:
            uow.classes.put_member(Membership(classroom, who, as_, BEGIN))
        uow.commit()
    for name, who, assignment in (
        ("handed", "juno", "box-bench"),
        ("other", "juno", "box-shed"),
        ("own", "juno", ""),
        ("kits", "kit", ""),
    ):
        check = house.send(name.encode(), who, name=name)
        with house.ports.unit_of_work() as uow:
            uow.boards.put(replace(uow.boards.get(check.board), assignment=assignment))
            uow.commit()
    return house


def boards(house: House, may: object, who: str) -> set[str]:
    """Names of all boards that `may` lets this person have."""
    found = set()
    with house.ports.reading() as uow:
        for owner in ("juno", "kit"):
            for board in uow.boards.all_of(owner):
                try:
                    found.add(may(board.id, person(who), uow).name)  # type: ignore[operator]
                except NotFoundError:
                    continue
    return found


def test_students_see_and_change_their_own_boards_alone(school: House) -> None:
    for may in (board_to_see, board_to_change):
        assert boards(school, may, "juno") == {"handed", "other", "own"}
        assert boards(school, may, "kit") == {"kits"}


def test_an_instructor_sees_and_reviews_what_was_handed_in_to_their_class_and_changes_nothing(school: House) -> None:
    for may in (board_to_see, board_to_review):
        assert boards(school, may, "wren") == {"handed"}
        assert boards(school, may, "moss") == {"other"}
    assert boards(school, board_to_change, "wren") == set()


def test_an_owner_sees_no_boards_but_those_of_classes_they_instruct(school: House) -> None:
    assert boards(school, board_to_see, "olive") == set()


def test_a_student_who_says_so_shows_all_boards_to_that_class(school: House) -> None:
    with school.ports.unit_of_work() as uow:
        uow.classes.put_member(Membership("shed", "kit", "student", BEGIN, shows_all=True))
        uow.commit()
    assert boards(school, board_to_see, "moss") == {"other", "kits"}
    assert boards(school, board_to_see, "wren") == {"handed"}


def test_instructors_of_one_class_do_not_see_one_anothers_boards(school: House) -> None:
    check = school.send(b"moss", "moss")
    with school.ports.unit_of_work() as uow:
        uow.classes.put_member(Membership("bench", "moss", "instructor", BEGIN, shows_all=True))
        uow.boards.put(replace(uow.boards.get(check.board), assignment="box-bench"))
        uow.commit()
    with school.ports.reading() as uow:
        assert board_to_see(check.board, person("moss"), uow).person == "moss"
        for may in (board_to_see, board_to_review):
            with pytest.raises(NotFoundError):
                may(check.board, person("wren"), uow)


def test_who_left_the_class_is_seen_by_it_no_longer(school: House) -> None:
    with school.ports.unit_of_work() as uow:
        uow.classes.remove_member("bench", "juno")
        uow.commit()
    assert boards(school, board_to_see, "wren") == set()


def test_nobody_reviews_their_own_boards_in_a_class(school: House) -> None:
    for who in ("juno", "kit"):
        assert boards(school, board_to_review, who) == set()


def test_a_teacher_alone_at_home_reviews_their_own(house: House) -> None:
    solo = ensure_solo(house.ports)
    board = house.send(b"one", solo.id).board
    bens = house.send(b"one", "ben").board
    with house.ports.reading() as uow:
        assert board_to_review(board, solo, uow).id == board
        assert students_of(solo, uow) == [solo]
        with pytest.raises(NotFoundError):
            board_to_review(bens, solo, uow)


def test_photos_follow_their_boards(school: House) -> None:
    with school.ports.reading() as uow:
        handed = next(board for board in uow.boards.all_of("juno") if board.name == "handed")
        (check,) = uow.checks.of_boards([handed.id])
        assert check_to_see(check.id, person("wren"), uow) == check
        assert check_to_change(check.id, person("juno"), uow) == check
        for may, who in ((check_to_see, "moss"), (check_to_see, "kit"), (check_to_change, "wren")):
            with pytest.raises(NotFoundError):
                may(check.id, person(who), uow)


def test_students_of_an_instructor_are_those_of_their_classes(school: House) -> None:
    with school.ports.reading() as uow:
        found = {who: [each.id for each in students_of(person(who), uow)] for who in PEOPLE}
    assert found == {"wren": ["juno"], "moss": ["juno", "kit"], "juno": [], "kit": [], "olive": []}


def test_students_show_the_boards_of_the_classes_that_a_person_instructs_or_all_if_they_say_so_in_one(
    school: House,
) -> None:
    with school.ports.unit_of_work() as uow:
        uow.classes.put_member(Membership("bench", "moss", "instructor", BEGIN))
        assert shown_by_students(person("wren"), uow) == {person("juno"): ["bench"]}
        both = {person("juno"): ["bench", "shed"], person("kit"): ["shed"]}
        assert shown_by_students(person("moss"), uow) == both
        for shows_all in ("bench", "shed"):  # the first and the last of the two classes
            other = "shed" if shows_all == "bench" else "bench"
            uow.classes.put_member(Membership(shows_all, "juno", "student", BEGIN, shows_all=True))
            uow.classes.put_member(Membership(other, "juno", "student", BEGIN))
            assert shown_by_students(person("moss"), uow) == both | {person("juno"): None}


@pytest.mark.parametrize(
    ("may", "allowed"),
    [
        (class_to_see, {"wren", "juno"}),
        (class_to_run, {"wren"}),
    ],
)
def test_a_class_is_seen_by_who_is_in_it_and_run_by_its_instructors(
    school: House, may: object, allowed: set[str]
) -> None:
    found = set()
    with school.ports.reading() as uow:
        for who in PEOPLE:
            try:
                may("bench", person(who), uow)  # type: ignore[operator]
            except NotFoundError:
                continue
            found.add(who)
    assert found == allowed


def test_an_assignment_is_its_classes_and_open_to_its_students(school: House) -> None:
    allowed: dict[str, set[str]] = {}
    with school.ports.reading() as uow:
        for may in (assignment_to_see, assignment_to_run, assignment_to_hand_in_to):
            for who in PEOPLE:
                try:
                    may("box-bench", person(who), uow)
                except NotFoundError:
                    continue
                allowed.setdefault(may.__name__, set()).add(who)
    assert allowed == {
        "assignment_to_see": {"wren", "juno"},
        "assignment_to_run": {"wren"},
        "assignment_to_hand_in_to": {"juno"},
    }


def test_nothing_is_handed_in_to_a_closed_assignment(school: House) -> None:
    with school.ports.unit_of_work() as uow:
        uow.assignments.put(replace(uow.assignments.get("box-bench"), closed=True))
        with pytest.raises(NotFoundError):
            assignment_to_hand_in_to("box-bench", person("juno"), uow)


@pytest.mark.parametrize("nobodys", ["nobodys", "", "\x00", "a b"])
def test_what_is_not_there_is_found_by_nobody(school: House, nobodys: str) -> None:
    with school.ports.reading() as uow:
        for may in (board_to_see, board_to_review, check_to_see, class_to_see, assignment_to_see):
            with pytest.raises(NotFoundError):
                may(nobodys, person("wren"), uow)
