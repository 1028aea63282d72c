"""Classes: made, renamed, shared, joined, left and deleted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from service.domain.classroom import As, Classroom, Membership, class_name
from service.domain.join_code import join_code, typed_code
from service.domain.mistakes import MistakeError, NotAllowedError, NotFoundError
from service.domain.person import Person
from service.texts import text
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.solo import SOLO
from service.use_cases.who_may import class_to_run, class_to_see

TRIES = 20
"""So many codes that are all taken do not come by chance."""


def may_teach(person: Person) -> bool:
    """Whether this person can make classes and instruct them: in solo mode there are none."""
    return person.role in ("instructor", "owner") and person.id != SOLO


def list_classes(asking: Person, ports: Ports) -> Sequence[tuple[Classroom, Membership]]:
    """The classes that this person is in, by name."""
    with ports.reading() as uow:
        return uow.classes.of_person(asking.id)


def look_at_membership(asking: Person, classroom_id: str, ports: Ports) -> tuple[Classroom, Membership]:
    """A class that this person is in, and as what. Raises NotFoundError."""
    with ports.reading() as uow:
        membership = uow.classes.membership(classroom_id, asking.id)
        if membership is None:
            raise NotFoundError
        return uow.classes.get(classroom_id), membership


def new_class(asking: Person, name: str, ports: Ports) -> Classroom:
    """A class that this person instructs. Raises NotAllowedError and MistakeError."""
    if not may_teach(asking):
        raise NotAllowedError
    with ports.unit_of_work() as uow:
        classroom = Classroom(ports.new_id(), class_name(name), _fresh_code(uow, ports), ports.now())
        uow.classes.add(classroom)
        uow.classes.put_member(Membership(classroom.id, asking.id, "instructor", ports.now()))
        uow.commit()
    return classroom


def rename_class(asking: Person, classroom_id: str, name: str, ports: Ports) -> Classroom:
    """Raises NotFoundError and MistakeError."""
    with ports.unit_of_work() as uow:
        classroom = replace(class_to_run(classroom_id, asking, uow), name=class_name(name))
        uow.classes.put(classroom)
        uow.commit()
    return classroom


def renew_code(asking: Person, classroom_id: str, ports: Ports) -> Classroom:
    """Another join code; the old one lets nobody in any more. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        classroom = replace(class_to_run(classroom_id, asking, uow), join_code=_fresh_code(uow, ports))
        uow.classes.put(classroom)
        uow.commit()
    return classroom


def close_code(asking: Person, classroom_id: str, ports: Ports) -> Classroom:
    """Nobody may join until there is a new code. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        classroom = replace(class_to_run(classroom_id, asking, uow), join_code="")
        uow.classes.put(classroom)
        uow.commit()
    return classroom


def remove_class(asking: Person, classroom_id: str, ports: Ports) -> None:
    """The class is gone with its assignments; its students keep their boards. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        class_to_run(classroom_id, asking, uow)
        uow.classes.remove(classroom_id)
        uow.commit()


def class_of_code(typed: str, ports: Ports) -> Classroom:
    """The class that a code, as typed or said, lets somebody join. Raises NotFoundError."""
    with ports.reading() as uow:
        return _class_of_code(uow, typed)


def join_class(asking: Person, typed: str, ports: Ports) -> Classroom:
    """A student of that class from now on; who is in it already stays what they are. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        classroom = enter_class(uow, asking.id, typed, ports)
        uow.commit()
    return classroom


def enter_class(uow: UnitOfWork, person_id: str, typed: str, ports: Ports) -> Classroom:
    """Join within a transaction. Raises NotFoundError."""
    classroom = _class_of_code(uow, typed)
    if person_id != SOLO and uow.classes.membership(classroom.id, person_id) is None:
        uow.classes.put_member(Membership(classroom.id, person_id, "student", ports.now()))
    return classroom


def share_class(asking: Person, classroom_id: str, with_person: str, ports: Ports) -> None:
    """Another instructor instructs the class as well. Raises NotFoundError, and MistakeError for who may not teach."""
    with ports.unit_of_work() as uow:
        class_to_run(classroom_id, asking, uow)
        other = uow.people.get(with_person)
        if not may_teach(other):
            raise MistakeError("person", text("class.cannot_teach"))
        make_instructor(uow, classroom_id, other.id, ports)
        uow.commit()


def make_instructor(uow: UnitOfWork, classroom_id: str, person_id: str, ports: Ports) -> None:
    """Within a transaction. Whoever was a student of the class does not judge boards of their own."""
    uow.classes.put_member(Membership(classroom_id, person_id, "instructor", ports.now()))
    uow.assignments.take_back(classroom_id, person_id)


def who_could_share(asking: Person, classroom_id: str, ports: Ports) -> Sequence[Person]:
    """Everyone who may teach and does not instruct this class yet, by name. Raises NotFoundError."""
    with ports.reading() as uow:
        class_to_run(classroom_id, asking, uow)
        here = {person.id for person, membership in uow.classes.members(classroom_id) if membership.as_ == "instructor"}
        return [person for person, _ in uow.accounts.everyone() if may_teach(person) and person.id not in here]


def leave_class(asking: Person, classroom_id: str, person_id: str, ports: Ports) -> None:
    """A person leaves, or an instructor takes them out; their boards are handed in to the class no longer.

    Raises NotFoundError, and MistakeError for the last instructor.
    """
    with ports.unit_of_work() as uow:
        (class_to_see if asking.id == person_id else class_to_run)(classroom_id, asking, uow)
        membership = uow.classes.membership(classroom_id, person_id)
        if membership is None:
            raise NotFoundError
        if membership.as_ == "instructor" and len(_in_class(uow, classroom_id, "instructor")) == 1:
            raise MistakeError("person", text("class.last_instructor"))
        uow.classes.remove_member(classroom_id, person_id)
        uow.assignments.take_back(classroom_id, person_id)
        uow.commit()


def instructed_alone(uow: UnitOfWork, person_id: str) -> Sequence[Classroom]:
    """The classes that would be without an instructor if this person went."""
    own = (classroom for classroom, membership in uow.classes.of_person(person_id) if membership.as_ == "instructor")
    return [classroom for classroom in own if len(_in_class(uow, classroom.id, "instructor")) == 1]


def show_all_boards(asking: Person, classroom_id: str, shows_all: bool, ports: Ports) -> Membership:
    """Whether the class's instructors see all boards of this student, or those handed in. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        class_to_see(classroom_id, asking, uow)
        membership = uow.classes.membership(classroom_id, asking.id)
        if membership is None or membership.as_ != "student":
            raise NotFoundError
        changed = replace(membership, shows_all=shows_all)
        uow.classes.put_member(changed)
        uow.commit()
    return changed


def _in_class(uow: UnitOfWork, classroom_id: str, as_: As) -> Sequence[Person]:
    return [person for person, membership in uow.classes.members(classroom_id) if membership.as_ == as_]


def _class_of_code(uow: UnitOfWork, typed: str) -> Classroom:
    code = typed_code(typed)
    classroom = uow.classes.with_code(code) if code else None
    if classroom is None:
        raise NotFoundError
    return classroom


def _fresh_code(uow: UnitOfWork, ports: Ports) -> str:
    for _ in range(TRIES):
        code = join_code(ports.new_secret())
        if uow.classes.with_code(code) is None:
            return code
    raise RuntimeError("no join code is free")
