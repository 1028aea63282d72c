"""An invented school for tests: who instructs what, who is in it, and what was handed in."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from service.domain.assignment import Assignment, Policy
from service.domain.board import Board
from service.domain.check import Answer
from service.domain.classroom import Classroom
from service.domain.person import Person
from service.use_cases.keep_class import join_class, new_class
from service.use_cases.set_work import set_assignment
from tests.service.house import House
from tests.vision.photos import report

WREN, MOSS = Person("wren", "Instructor Wren Alder", "instructor"), Person("moss", "Instructor Moss Reed", "instructor")
JUNO, KIT = Person("juno", "Student Juno Larchmere", "student"), Person("kit", "Student Kit Larch", "student")
OLIVE = Person("olive", "Owner Olive Field", "owner")
EVERYBODY = (WREN, MOSS, JUNO, KIT, OLIVE)


def people(house: House) -> None:
    """All of them, in no class yet."""
    with house.ports.unit_of_work() as uow:
        for person in EVERYBODY:
            uow.people.add(person)
        uow.commit()


def bench(house: House, *students: Person) -> Classroom:
    """Wren's class, with these students."""
    classroom = new_class(WREN, "Monday bench", house.ports)
    for student in students:
        join_class(student, classroom.join_code, house.ports)
    return classroom


def work(house: House, classroom: Classroom, title: str = "Three tails", **said: Any) -> Assignment:
    """An assignment of that class."""
    wanted = Assignment("", classroom.id, title, house.clock[0], policy=said.pop("policy", Policy()), **said)
    return set_assignment(WREN, wanted, house.ports)


def hand_in_board(house: House, person: Person, assignment: str, data: bytes, lean: float = 1.0) -> Board:
    """A new board of that person, handed in and measured, its leans so many times those of the tests' usual board."""
    check = house.send(data, person.id, assignment=assignment)
    house.answer(measured_end(lean))
    with house.ports.reading() as uow:
        return uow.boards.get(check.board)


def measured_end(lean: float = 1.0, **words: Any) -> Answer:
    """The answer to a photo of the tests' usual board."""
    result = json.loads(json.dumps(report().to_dict()))
    for wall in result["walls"]:
        wall["lean_deg"] *= lean
        wall["out_of_square_mm"] *= lean
    return Answer(result, {"mm": {}, "inch": {}} | words)


def changed(house: House, board: Board, **values: Any) -> None:
    """A board as it would be with other values."""
    with house.ports.unit_of_work() as uow:
        uow.boards.put(replace(board, **values))
        uow.commit()
