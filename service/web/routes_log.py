"""The practice log and the page of one board."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from starlette.responses import RedirectResponse, Response

from service.domain.fit import OUTCOMES
from service.use_cases.keep_log import (
    change_board,
    check_again,
    delete_board,
    delete_check,
    look_at_board,
    look_at_check,
    look_at_log,
    note_fits,
)
from service.web.board_page import board_page
from service.web.desk import Asking, AtDesk
from service.web.forms import DetailsForm, LogForm, ToldForm

router = APIRouter(include_in_schema=False)


@router.get("/boards")
def log_page(request: Request, desk: AtDesk, person: Asking, form: Annotated[LogForm, Depends()]) -> Response:
    """The boards wanted, as a gallery or a list."""
    page, choices = look_at_log(form.wanted(person.id), desk.ports)
    known = {"person": person, "here": "log", "form": form, "page": page, "choices": choices}
    return desk.templates.TemplateResponse(request, "log.html", known)


@router.get("/boards/{board}")
def one_board(request: Request, desk: AtDesk, person: Asking, board: str) -> Response:
    """A board by its newest photo."""
    return _show(request, desk, person, board, "")


@router.get("/checks/{check}")
def one_check(request: Request, desk: AtDesk, person: Asking, check: str) -> Response:
    """A board by one of its photos."""
    return _show(request, desk, person, look_at_check(person.id, check, desk.ports).board, check)


def _show(request: Request, desk: AtDesk, person: Asking, board: str, check: str) -> Response:
    page = board_page(look_at_board(person.id, board, desk.ports), check, person)
    return desk.templates.TemplateResponse(request, "board.html", {"person": person, "here": "log", "page": page})


@router.post("/boards/{board}")
def change(
    desk: AtDesk,
    person: Asking,
    board: str,
    details: Annotated[DetailsForm, Depends()],
    name: Annotated[str, Form()] = "",
) -> Response:
    """Other name and details."""
    change_board(person.id, board, name, details.details(person.units), desk.ports)
    return RedirectResponse(f"/boards/{board}", 303)


@router.post("/boards/{board}/fits")
async def say_how_it_fitted(request: Request, desk: AtDesk, person: Asking, board: str) -> Response:
    """One field a socket, `socket-0` and so on; what is not said is not kept."""
    form = await request.form()
    said = {int(key[7:]): str(value) for key, value in form.items() if key[:7] == "socket-" and key[7:].isdigit()}
    outcomes = {socket: outcome for socket, said_ in said.items() for outcome in OUTCOMES if outcome == said_}
    note_fits(person.id, board, outcomes, desk.ports)
    return RedirectResponse(f"/boards/{board}#fit", 303)


@router.post("/boards/{board}/delete")
def delete(desk: AtDesk, person: Asking, board: str) -> Response:
    """Gone, photos included."""
    delete_board(person.id, board, desk.ports)
    return RedirectResponse("/boards", 303)


@router.post("/checks/{check}/again")
def measure_again(desk: AtDesk, person: Asking, check: str, told: Annotated[ToldForm, Depends()]) -> Response:
    """The kept photo once more, with other settings."""
    check_again(person.id, check, told.told(), desk.ports)
    return RedirectResponse(f"/checks/{check}", 303)


@router.post("/checks/{check}/delete")
def delete_photo(desk: AtDesk, person: Asking, check: str) -> Response:
    """One photo gone, its board stays."""
    return RedirectResponse(f"/boards/{delete_check(person.id, check, desk.ports)}", 303)
