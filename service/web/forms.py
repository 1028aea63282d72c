"""What people typed into a form, as values of the domain."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Annotated, Literal

from fastapi import Form, Query

from service.domain.board import STANDINGS, Details, Standing
from service.domain.check import Told
from service.domain.log import MOST_PAGES, Wanted
from service.domain.mistakes import MistakeError
from service.domain.person import Units
from service.lengths import MM_PER_INCH, length_mm

Typed = Annotated[str, Form()]


@dataclass(frozen=True)
class DetailsForm:
    """The fields of a board as typed."""

    species: Typed = ""
    thickness: Typed = ""
    saw: Typed = ""
    plan: Typed = ""
    notes: Typed = ""

    def details(self, units: Units) -> Details:
        """Raises MistakeError, naming the field."""
        thickness_mm = typed_length_mm(self.thickness, units) if self.thickness.strip() else None
        texts = (part.strip() for part in (self.species, self.saw, self.plan, self.notes))
        species, saw, plan, notes = texts
        return Details(species, thickness_mm, saw, plan, notes.replace("\r\n", "\n"))


@dataclass(frozen=True)
class ToldForm:
    """What is told of one photo, as chosen."""

    stage: Annotated[Literal["", "sawn", "cleared"], Form()] = ""
    card_side: Annotated[Literal["show", "transfer"], Form()] = "show"

    def told(self) -> Told:
        """An empty stage is for the program to find."""
        return Told(self.stage or None, self.card_side)


@dataclass(frozen=True)
class LogForm:
    """The filters of the log as they stand in its address; what makes no sense narrows nothing."""

    text: Annotated[str, Query(max_length=200)] = ""
    standing: str = ""
    species: str = ""
    saw: str = ""
    since: str = ""
    until: str = ""
    show: str = "gallery"
    page: str = "1"

    def wanted(self, person: str) -> Wanted:
        """The boards asked for."""
        standing: Standing | None = next((known for known in STANDINGS if known == self.standing), None)
        days = _day(self.since), _day(self.until)
        texts = (_printable(part) for part in (self.text, self.species, self.saw))
        text, species, saw = texts
        return Wanted(person, text, standing, species, saw, *days, _page(self.page))

    @property
    def narrowed(self) -> bool:
        """Whether any filter stands."""
        return any((self.text, self.standing, self.species, self.saw, self.since, self.until))


def typed_length_mm(typed: str, units: Units) -> float:
    """A length in mm from `19`, `19mm`, `0.75in`, and with inches chosen `3/4` or `1 1/4`. Raises MistakeError."""
    bare = typed.strip().rstrip('"')
    if units == "inch" and all(letter.isdigit() or letter in " /.," for letter in bare):
        return _inches(bare) * MM_PER_INCH
    try:
        return length_mm(typed)
    except ValueError as error:
        raise MistakeError("thickness", f"The thickness {error}.") from error


def _inches(typed: str) -> float:
    try:
        return float(sum(Fraction(part.replace(",", ".")) for part in typed.split()))
    except (ValueError, ZeroDivisionError) as error:
        raise MistakeError("thickness", f"The thickness must be a length such as 3/4 or 0.75, got {typed!r}.") from (
            error
        )


def _printable(typed: str) -> str:
    return "".join(letter for letter in typed if letter.isprintable())


def _day(typed: str) -> date | None:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        return None


def _page(typed: str) -> int:
    return min(int(typed), MOST_PAGES) if typed.isascii() and typed.isdigit() and len(typed) < 9 else 1
