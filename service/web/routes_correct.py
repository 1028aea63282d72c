"""A second opinion on the walls of a photo: the page to give it, its original, and taking it back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from service.domain.fit import MOST_SOCKETS
from service.domain.mistakes import MistakeError
from service.domain.wall_line import WallLine
from service.texts import text
from service.use_cases.correct_walls import correct_walls, look_at_walls, withdraw_correction
from service.use_cases.keep_log import look_at_board, look_at_check
from service.web.correction_page import correct_page
from service.web.desk import Asking, AtDesk
from service.web.forms import typed_form
from service.web.show_board import show_board

router = APIRouter(include_in_schema=False)
ENDS = ("show-x", "show-y", "transfer-x", "transfer-y")


@router.get("/checks/{check}/correct")
def lines_to_correct(request: Request, desk: AtDesk, person: Asking, check: str) -> Response:
    """The photo with the lines found on it, to be moved."""
    page = correct_page(look_at_walls(person.id, check, desk.ports))
    return desk.templates.TemplateResponse(request, "correct.html", {"person": person, "here": "log", "page": page})


@router.post("/checks/{check}/correct")
def correct(desk: AtDesk, person: Asking, check: str, form: Annotated[FormData, Depends(typed_form)]) -> Response:
    """The lines as they are now, four numbers a wall; the answer comes by itself on the photo's own page."""
    correct_walls(person.id, check, typed_lines(form), str(form.get("why", "")), desk.ports)
    return RedirectResponse(f"/checks/{check}", 303)


@router.post("/checks/{check}/correct/withdraw")
def withdraw(desk: AtDesk, person: Asking, check: str) -> Response:
    """The program's own answer stands again."""
    withdraw_correction(person.id, check, desk.ports)
    return RedirectResponse(f"/checks/{check}", 303)


@router.get("/checks/{check}/original")
def original(request: Request, desk: AtDesk, person: Asking, check: str) -> Response:
    """The program's own answer, beside which a corrected one stands."""
    found = look_at_check(person.id, check, desk.ports)
    if not found.corrected:
        return RedirectResponse(f"/checks/{check}", 303)
    view = look_at_board(person.id, found.board, desk.ports)
    own = replace(found, state="measured", answer=found.original)
    checks = [own if each.id == check else each for each in view.checks]
    return show_board(request, desk, person, replace(view, checks=checks), check, at_original=True)


def typed_lines(form: Mapping[str, Any]) -> list[WallLine]:
    """The walls of a form, `wall-0-show-x` and so on, without those that are said to be none. Raises MistakeError."""
    numbers = range(2 * MOST_SOCKETS)
    there = [number for number in numbers if f"wall-{number}-show-x" in form and f"wall-{number}-out" not in form]
    return [_line(form, f"wall-{number}-") for number in there]


def _line(form: Mapping[str, Any], wall: str) -> WallLine:
    show_x, show_y, transfer_x, transfer_y = (_number(form, wall + end) for end in ENDS)
    zoom = _number(form, f"{wall}zoom") if f"{wall}zoom" in form else None
    return WallLine((show_x, show_y), (transfer_x, transfer_y), zoom)


def _number(form: Mapping[str, Any], name: str) -> float:
    try:
        return float(str(form.get(name, "")).replace(",", "."))
    except ValueError as error:
        raise MistakeError("walls", text("correct.no_number")) from error
