"""What people typed into a form, as values of the domain."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import Form, Query, Request
from starlette.datastructures import FormData

from service.domain.board import MOST_AT_ONCE, STANDINGS, Details, Standing, numbered_name
from service.domain.check import FACES, CardSide, Told, View
from service.domain.how_cut import HowCut, numbered_order
from service.domain.log import MOST_PAGES, Wanted
from service.domain.mistakes import MistakeError
from service.domain.person import Units
from service.lengths import length_mm
from service.texts import text
from service.web.looks import typed_length

Typed = Annotated[str, Form()]
BY_NUMBERS = "numbers"
"""Chosen as an order of practice cuts: the cuts' numbers are typed."""


@dataclass(frozen=True)
class DetailsForm:
    """The fields of a board as typed."""

    species: Typed = ""
    thickness: Typed = ""
    saw: Typed = ""
    plan: Typed = ""
    notes: Typed = ""
    print: Typed = ""

    def details(self, units: Units, known_mm: float | None = None) -> Details:
        """Raises MistakeError, naming the field. `known_mm` is the thickness that the form has shown."""
        thickness_mm = typed_or_known_mm(self.thickness, units, known_mm)
        texts = (part.strip() for part in (self.species, self.saw, self.plan, self.notes))
        species, saw, plan, notes = texts
        return Details(species, thickness_mm, saw, plan, notes.replace("\r\n", "\n"), self.print.strip())


@dataclass(frozen=True)
class ToldForm:
    """What is told of one photo, as chosen."""

    stage: Annotated[Literal["", "sawn", "cleared"], Form()] = ""
    card_side: Annotated[CardSide, Form()] = "show"
    order: Typed = HowCut.order
    order_numbers: Typed = ""
    intended: Typed = HowCut.intended
    keep: Typed = HowCut.keep

    def told(self, view: View | None) -> Told:
        """An empty stage is for the program to find. Raises MistakeError for how practice cuts were made.

        What is told of them counts unless the photo is known to show something else.
        """
        how_cut = self._how_cut() if view in ("drill", None) else HowCut()
        return Told(self.stage or None, self.card_side, how_cut=how_cut)

    def _how_cut(self) -> HowCut:
        order = numbered_order(self.order_numbers) if self.order == BY_NUMBERS else self.order.strip()
        return HowCut(order, self.intended.strip(), self.keep.strip())


@dataclass(frozen=True)
class EachForm:
    """Whether each photo of a form makes a board of its own; `number` is that of the first, from 1, if it is told.

    The page's own script tells it, which sends one photo at a time.
    """

    each: Annotated[Literal["", "yes"], Form()] = ""
    number: Annotated[int, Form(ge=0, le=MOST_AT_ONCE)] = 0

    def check(self, board: str, view: View) -> None:
        """Raise MistakeError for boards of their own that are to be a chosen one, or to have a face alone."""
        if self.each and board:
            raise MistakeError("each", text("check.own_new_only"))
        if self.each and view in FACES:
            raise MistakeError("view", text("check.own_ends_only"))

    def names(self, wanted: str, count: int) -> list[str]:
        """The name to want for the board of each of so many photos. Raises MistakeError."""
        if not self.each or (count == 1 and not self.number):
            return [wanted] * count
        first = self.number or 1
        return [numbered_name(wanted, number) for number in range(first, first + count)]


@dataclass(frozen=True)
class AgainForm(ToldForm):
    """The same, and what the photo shows, if that was told wrongly."""

    view: Annotated[Literal["", "end", "drill", "show", "transfer"], Form()] = ""


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
    month: str = ""

    def wanted(self, person: str) -> Wanted:
        """The boards asked for."""
        standing: Standing | None = next((known for known in STANDINGS if known == self.standing), None)
        days = _day(self.since), _day(self.until)
        texts = (printable(part) for part in (self.text, self.species, self.saw))
        text, species, saw = texts
        return Wanted(person, text, standing, species, saw, *days, typed_page(self.page))

    @property
    def narrowed(self) -> bool:
        """Whether any filter stands."""
        return bool(self.query)

    @property
    def query(self) -> str:
        """The filters for another page's address; empty without any."""
        named = {"text": self.text, "standing": self.standing, "species": self.species, "saw": self.saw}
        return filters(**named, since=self.since, until=self.until)


def filters(**values: str) -> str:
    """What stands in an address, without what is empty."""
    return urlencode({name: value for name, value in values.items() if value})


async def typed_form(request: Request) -> AsyncIterator[FormData]:
    """A form whose fields are not known beforehand; its files are closed after the answer."""
    async with request.form() as form:
        yield form


def typed_length_mm(typed: str, units: Units, field: str = "thickness", called: str = "The thickness") -> float:
    """A length in mm from `19`, `19mm`, `0.75in`, and with inches chosen `3/4` or `1 1/4`.

    Raises MistakeError for that field, whose sentence begins with what it is `called`.
    """
    bare = all(letter.isdigit() or letter in " /.," for letter in typed)
    try:
        return length_mm(f"{typed}in" if bare and units == "inch" else typed)
    except ValueError as error:
        raise MistakeError(field, f"{called} {error}.") from error


def typed_or_known_mm(
    typed: str, units: Units, known_mm: float | None, field: str = "thickness", called: str = "The thickness"
) -> float | None:
    """The length in mm as `typed_length_mm` reads it, or None for nothing.

    Where it stands as a form shows `known_mm`, it is that one, which is not as round. Raises MistakeError.
    """
    if known_mm is not None and typed == typed_length(known_mm, units):
        return known_mm
    return typed_length_mm(typed, units, field, called) if typed.strip() else None


def printable(typed: str) -> str:
    """Without what no keyboard writes."""
    return "".join(letter for letter in typed if letter.isprintable())


def _day(typed: str) -> date | None:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        return None


def typed_page(typed: str) -> int:
    """The portion of a list that an address asks for; the first when it makes no sense."""
    return min(int(typed), MOST_PAGES) if typed.isascii() and typed.isdigit() and len(typed) < 9 else 1
