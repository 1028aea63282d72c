"""The practice log and the page of one board."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Query, Request
from starlette.datastructures import FormData, UploadFile
from starlette.responses import RedirectResponse, Response

from service.domain.board import Board
from service.domain.fit import MOST_SOCKETS, OUTCOMES
from service.domain.log import Choices
from service.domain.person import Person
from service.use_cases.keep_log import (
    boards_of,
    change_board,
    check_again,
    delete_board,
    delete_check,
    look_at_board,
    look_at_check,
    look_at_days,
    look_at_log,
    note_fits,
)
from service.use_cases.review_board import new_reviews
from service.use_cases.send_photo import Sending, send_photo
from service.web.calendar_page import Calendar, calendar_page
from service.web.desk import Asking, AtDesk, Desk
from service.web.forms import AgainForm, DetailsForm, LogForm, typed_form
from service.web.practice_forms import Month
from service.web.show_board import show_board

router = APIRouter(include_in_schema=False)
Known = Annotated[list[str] | None, Query()]
MOST_KNOWN = 50
"""So many boards of known photos are told of; hardly anybody sends photos of more at once."""


@router.get("/boards")
def log_page(
    request: Request, desk: AtDesk, person: Asking, form: Annotated[LogForm, Depends()], known: Known = None
) -> Response:
    """The boards wanted, as a gallery, a list or a calendar; `known` are as on a board's page."""
    shown = {"person": person, "here": "log", "form": form, "page": None, "calendar": None}
    shown["news"], shown["known"] = new_reviews(person, desk.ports), _known(person, known, desk)
    if form.show == "calendar":
        found, choices = _month(form, desk, person)
        return desk.templates.TemplateResponse(request, "log.html", shown | {"calendar": found, "choices": choices})
    page, choices = look_at_log(form.wanted(person.id), desk.ports)
    return desk.templates.TemplateResponse(request, "log.html", shown | {"page": page, "choices": choices})


def _known(person: Person, known: Sequence[str] | None, desk: Desk) -> Sequence[Board]:
    return boards_of(person.id, (known or [])[:MOST_KNOWN], desk.ports)


def _month(form: LogForm, desk: Desk, person: Asking) -> tuple[Calendar, Choices]:
    """One month of the boards wanted: the one asked for, else that of the first day asked for, else this one."""
    today = desk.ports.now().date()
    month = Month.of(form.month or form.since[:7], today)
    start, end = (datetime.combine(day, time.min, UTC) for day in (month.first, month.after.first))
    boards, choices = look_at_days(form.wanted(person.id), start, end, desk.ports)
    return calendar_page(month, boards, today), choices


@router.get("/boards/{board}")
def one_board(request: Request, desk: AtDesk, person: Asking, board: str, known: Known = None) -> Response:
    """A board by its newest photo; `known` are those of the photos just sent that were checked before."""
    view = look_at_board(person.id, board, desk.ports)
    return show_board(request, desk, person, view, known=_known(person, known, desk))


@router.get("/checks/{check}")
def one_check(request: Request, desk: AtDesk, person: Asking, check: str) -> Response:
    """A board by one of its photos."""
    board = look_at_check(person.id, check, desk.ports).board
    return show_board(request, desk, person, look_at_board(person.id, board, desk.ports), check)


@router.post("/boards/{board}")
def change(
    desk: AtDesk,
    person: Asking,
    board: str,
    details: Annotated[DetailsForm, Depends()],
    name: Annotated[str, Form()] = "",
    edition: Annotated[str, Form()] = "",
) -> Response:
    """Other name and details."""
    known_mm = look_at_board(person.id, board, desk.ports).board.details.thickness_mm
    change_board(person.id, board, name, details.details(person.units, known_mm), desk.ports, edition)
    return RedirectResponse(f"/boards/{board}", 303)


@router.post("/boards/{board}/fits")
def say_how_it_fitted(
    desk: AtDesk, person: Asking, board: str, form: Annotated[FormData, Depends(typed_form)]
) -> Response:
    """One field a socket, `socket-0` and so on, a note, and a photo; what is not said is not kept."""
    said = {socket: form.get(f"socket-{socket}") for socket in range(MOST_SOCKETS)}
    outcomes = {socket: outcome for socket, said_ in said.items() for outcome in OUTCOMES if outcome == said_}
    note = form.get("note")
    note_fits(person.id, board, outcomes, desk.ports, note if isinstance(note, str) else None)
    photo = form.get("photo")
    if isinstance(photo, UploadFile) and (data := photo.file.read()):
        send_photo(person.id, Sending(data, board, view="fit"), desk.ports)
    return RedirectResponse(f"/boards/{board}#fit", 303)


@router.post("/boards/{board}/delete")
def delete(desk: AtDesk, person: Asking, board: str) -> Response:
    """Gone, photos included."""
    delete_board(person.id, board, desk.ports)
    return RedirectResponse("/boards", 303)


@router.post("/checks/{check}/again")
def measure_again(desk: AtDesk, person: Asking, check: str, told: Annotated[AgainForm, Depends()]) -> Response:
    """The kept photo once more, with other settings."""
    view = told.view or None
    check_again(person.id, check, told.told(view), desk.ports, view)
    return RedirectResponse(f"/checks/{check}", 303)


@router.post("/checks/{check}/delete")
def delete_photo(desk: AtDesk, person: Asking, check: str) -> Response:
    """One photo gone, its board stays."""
    return RedirectResponse(f"/boards/{delete_check(person.id, check, desk.ports)}", 303)
