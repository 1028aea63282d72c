"""A class: its name, the code to join it by, and who is in it as what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from service.domain.mistakes import MistakeError, check_text

As = Literal["student", "instructor"]
LONGEST_CLASS_NAME = 80


@dataclass(frozen=True)
class Classroom:
    """A class. Its `join_code` lets anybody in who knows it; empty when nobody may join. `created` is in UTC."""

    id: str
    name: str
    join_code: str
    created: datetime


@dataclass(frozen=True)
class Membership:
    """One person in one class, `as_` student or instructor: what they are there, whatever they are elsewhere.

    A class's instructors see the boards that a student handed in to it; all of the student's boards only if the
    student says so (`shows_all`).
    """

    classroom: str
    person: str
    as_: As
    joined: datetime
    shows_all: bool = False


def class_name(typed: str) -> str:
    """A class's name as kept. Raises MistakeError when it is empty or too long."""
    name = " ".join(typed.split())
    check_text("name", name, LONGEST_CLASS_NAME)
    if not name:
        raise MistakeError("name", "A class needs a name, such as Monday bench.")
    return name
