"""Solo mode: one person, on their own computer, without an account."""

from __future__ import annotations

from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.use_cases.ports import Ports

SOLO = "solo"


def ensure_solo(ports: Ports) -> Person:
    """The one person, made when the log is new."""
    with ports.unit_of_work() as uow:
        try:
            return uow.people.get(SOLO)
        except NotFoundError:
            person = Person(SOLO, "Me")
            uow.people.add(person)
            uow.commit()
    return person
